-- Every table is described field by field in the package comment (doc.go).

CREATE TABLE archive_station (
	id   INTEGER PRIMARY KEY CHECK (id = 1),
	name TEXT    NOT NULL
) STRICT;

CREATE TABLE archives (
	id       INTEGER PRIMARY KEY,
	address  TEXT    NOT NULL UNIQUE,
	pushed   INTEGER,
	failed   INTEGER,
	failure  TEXT
) STRICT;

CREATE TABLE archive_cells (
	archive  INTEGER NOT NULL REFERENCES archives (id),
	cell     INTEGER NOT NULL REFERENCES cells (id),
	station  TEXT    NOT NULL,
	name     TEXT    NOT NULL,
	until_ns INTEGER NOT NULL,
	scale    TEXT    NOT NULL,
	PRIMARY KEY (archive, cell),
	UNIQUE (archive, station, name)
) STRICT, WITHOUT ROWID;
CREATE INDEX archive_cells_by_cell ON archive_cells (cell);

CREATE TABLE archive_stretches (
	id      INTEGER PRIMARY KEY,
	archive INTEGER NOT NULL REFERENCES archives (id),
	cell    INTEGER NOT NULL REFERENCES cells (id),
	from_ns INTEGER NOT NULL,
	to_ns   INTEGER NOT NULL,
	refusal TEXT    NOT NULL
) STRICT;
CREATE INDEX archive_stretches_by_cell ON archive_stretches (archive, cell, refusal, from_ns);

CREATE TABLE archive_pulls (
	archive INTEGER NOT NULL REFERENCES archives (id),
	pull    INTEGER NOT NULL REFERENCES pulls (id),
	at_ns   INTEGER NOT NULL,
	changed INTEGER NOT NULL,
	refusal TEXT    NOT NULL,
	PRIMARY KEY (archive, pull)
) STRICT, WITHOUT ROWID;
