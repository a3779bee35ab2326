-- Every table is described field by field in the package comment (doc.go).

CREATE TABLE calibrations (
	id      INTEGER PRIMARY KEY,
	key     TEXT    NOT NULL UNIQUE,
	version INTEGER NOT NULL,
	updated INTEGER NOT NULL,
	doc     TEXT    NOT NULL,
	removed INTEGER,
	cell    INTEGER GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN doc ->> '$.cell' END) VIRTUAL
) STRICT;
CREATE INDEX calibrations_by_cell ON calibrations (cell);

CREATE TRIGGER calibrations_do_not_change BEFORE UPDATE OF doc ON calibrations WHEN new.doc IS NOT old.doc
BEGIN
	SELECT RAISE(ABORT, 'a kept calibration does not change');
END;

CREATE TRIGGER calibrations_stay BEFORE DELETE ON calibrations
BEGIN
	SELECT RAISE(ABORT, 'a kept calibration stays');
END;

CREATE TABLE zeros (
	id      INTEGER PRIMARY KEY,
	key     TEXT    NOT NULL UNIQUE,
	version INTEGER NOT NULL,
	updated INTEGER NOT NULL,
	doc     TEXT    NOT NULL,
	removed INTEGER,
	cell    INTEGER GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN doc ->> '$.cell' END) VIRTUAL
) STRICT;
CREATE INDEX zeros_by_cell ON zeros (cell);
