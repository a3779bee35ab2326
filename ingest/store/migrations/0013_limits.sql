-- Where the analysis found a pull whose start and end a person has set. A pull
-- with such limits has key "limits" in its doc, which an older program would lose.

ALTER TABLE pulls ADD COLUMN found_start INTEGER GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN doc ->> '$.limits.found.Start' END) VIRTUAL;
ALTER TABLE pulls ADD COLUMN found_end INTEGER GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN doc ->> '$.limits.found.End' END) VIRTUAL;
CREATE INDEX pulls_with_limits ON pulls (cell, found_start, found_end) WHERE found_start IS NOT NULL;
