-- Pulls that are set aside, that a person has made, and steps of several pulls:
-- keys "aside", "made" and "of" in the doc of a pull and "step" in the journal,
-- which an older program would lose or pass over. A pull that is set aside is
-- found again where it was found, one that a person made and set aside is not.

DROP INDEX pulls_with_limits;
ALTER TABLE pulls DROP COLUMN found_start;
ALTER TABLE pulls DROP COLUMN found_end;
ALTER TABLE pulls ADD COLUMN found_start INTEGER GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN CASE
	WHEN doc ->> '$.aside.at' IS NULL THEN doc ->> '$.limits.found.Start'
	WHEN doc ->> '$.limits.made' IS NULL THEN coalesce(doc ->> '$.limits.found.Start', doc ->> '$.found.Start') END END) VIRTUAL;
ALTER TABLE pulls ADD COLUMN found_end INTEGER GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN CASE
	WHEN doc ->> '$.aside.at' IS NULL THEN doc ->> '$.limits.found.End'
	WHEN doc ->> '$.limits.made' IS NULL THEN coalesce(doc ->> '$.limits.found.End', doc ->> '$.found.End') END END) VIRTUAL;
CREATE INDEX pulls_with_limits ON pulls (cell, found_start, found_end) WHERE found_start IS NOT NULL;
