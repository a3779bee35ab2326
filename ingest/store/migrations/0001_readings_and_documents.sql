-- Every table is described field by field in the package comment (doc.go).

CREATE TABLE cells (
	id      INTEGER PRIMARY KEY,
	key     TEXT    NOT NULL UNIQUE,
	version INTEGER NOT NULL,
	updated INTEGER NOT NULL,
	doc     TEXT    NOT NULL
) STRICT;

CREATE TABLE vehicles (
	id      INTEGER PRIMARY KEY,
	key     TEXT    NOT NULL UNIQUE,
	version INTEGER NOT NULL,
	updated INTEGER NOT NULL,
	doc     TEXT    NOT NULL
) STRICT;

CREATE TABLE items (
	id      INTEGER PRIMARY KEY,
	key     TEXT    NOT NULL UNIQUE,
	version INTEGER NOT NULL,
	updated INTEGER NOT NULL,
	doc     TEXT    NOT NULL
) STRICT;

CREATE TABLE rigs (
	id      INTEGER PRIMARY KEY,
	key     TEXT    NOT NULL UNIQUE,
	version INTEGER NOT NULL,
	updated INTEGER NOT NULL,
	doc     TEXT    NOT NULL
) STRICT;

CREATE TABLE days (
	id      INTEGER PRIMARY KEY,
	key     TEXT    NOT NULL UNIQUE,
	version INTEGER NOT NULL,
	updated INTEGER NOT NULL,
	doc     TEXT    NOT NULL
) STRICT;

CREATE TABLE setups (
	id    INTEGER PRIMARY KEY,
	cell  INTEGER NOT NULL REFERENCES cells (id),
	since INTEGER NOT NULL,
	doc   TEXT    NOT NULL
) STRICT;
CREATE INDEX setups_by_time ON setups (cell, since);

CREATE TABLE pulls (
	id       INTEGER PRIMARY KEY,
	cell     INTEGER NOT NULL REFERENCES cells (id),
	start_ns INTEGER NOT NULL,
	end_ns   INTEGER NOT NULL,
	day      INTEGER REFERENCES days (id),
	settled  INTEGER NOT NULL,
	edited   INTEGER NOT NULL,
	version  INTEGER NOT NULL,
	updated  INTEGER NOT NULL,
	doc      TEXT    NOT NULL,
	UNIQUE (cell, start_ns)
) STRICT;
CREATE INDEX pulls_by_time ON pulls (start_ns);
CREATE INDEX pulls_by_day ON pulls (day, start_ns);

CREATE TABLE journal (
	id     INTEGER PRIMARY KEY,
	at     INTEGER NOT NULL,
	who    TEXT    NOT NULL,
	what   TEXT    NOT NULL,
	ref    INTEGER NOT NULL,
	before TEXT,
	after  TEXT
) STRICT;
CREATE INDEX journal_by_ref ON journal (what, ref);

CREATE TABLE tails (
	id       INTEGER PRIMARY KEY,
	cell     INTEGER NOT NULL REFERENCES cells (id),
	first_ns INTEGER NOT NULL,
	last_ns  INTEGER NOT NULL,
	n        INTEGER NOT NULL,
	payload  BLOB    NOT NULL
) STRICT;
CREATE UNIQUE INDEX tails_by_time ON tails (cell, first_ns, last_ns, n);

CREATE TABLE blocks (
	id       INTEGER PRIMARY KEY,
	cell     INTEGER NOT NULL REFERENCES cells (id),
	first_ns INTEGER NOT NULL,
	last_ns  INTEGER NOT NULL,
	n        INTEGER NOT NULL,
	payload  BLOB    NOT NULL
) STRICT;
CREATE UNIQUE INDEX blocks_by_time ON blocks (cell, first_ns, last_ns, n);

CREATE TABLE levels (
	cell       INTEGER NOT NULL REFERENCES cells (id),
	size       INTEGER NOT NULL,
	first_ns   INTEGER NOT NULL,
	longest_ns INTEGER NOT NULL,
	extents    BLOB    NOT NULL,
	PRIMARY KEY (cell, size, first_ns)
) STRICT, WITHOUT ROWID;
