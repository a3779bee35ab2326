-- For the pulls that were measured by something else than what is in force now.

ALTER TABLE pulls ADD COLUMN by_calibration INTEGER GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN coalesce(doc ->> '$.by.calibration', 0) END) VIRTUAL;
ALTER TABLE pulls ADD COLUMN by_zero INTEGER GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN coalesce(doc ->> '$.by.zero', 0) END) VIRTUAL;
ALTER TABLE pulls ADD COLUMN peak_at INTEGER GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN doc ->> '$.found.PeakAt' END) VIRTUAL;
CREATE INDEX pulls_by_measure ON pulls (cell, by_calibration, by_zero, peak_at) WHERE settled = 1;
