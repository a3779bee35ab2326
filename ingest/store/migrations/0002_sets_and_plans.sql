-- Every table is described field by field in the package comment (doc.go).

CREATE TABLE sets (
	id      INTEGER PRIMARY KEY,
	name    TEXT    NOT NULL,
	version INTEGER NOT NULL,
	made    INTEGER NOT NULL,
	doc     TEXT    NOT NULL,
	UNIQUE (name, version)
) STRICT;

CREATE TRIGGER sets_do_not_change BEFORE UPDATE ON sets
BEGIN
	SELECT RAISE(ABORT, 'a kept set does not change');
END;

CREATE TRIGGER sets_stay BEFORE DELETE ON sets
BEGIN
	SELECT RAISE(ABORT, 'a kept set stays');
END;

CREATE TABLE choices (
	id    INTEGER PRIMARY KEY,
	since INTEGER NOT NULL,
	kept  INTEGER REFERENCES sets (id)
) STRICT;

CREATE TABLE plans (
	id      INTEGER PRIMARY KEY,
	key     TEXT    NOT NULL UNIQUE,
	version INTEGER NOT NULL,
	updated INTEGER NOT NULL,
	doc     TEXT    NOT NULL
) STRICT;
