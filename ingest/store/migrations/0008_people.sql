-- Who may use the pages from another machine, and which browsers are signed in.

CREATE TABLE people (
	id       INTEGER PRIMARY KEY AUTOINCREMENT,
	name     TEXT NOT NULL UNIQUE COLLATE NOCASE,
	role     TEXT NOT NULL CHECK (role IN ('operator', 'viewer')),
	password TEXT NOT NULL,
	made     INTEGER NOT NULL
);

CREATE TABLE sessions (
	id      INTEGER PRIMARY KEY AUTOINCREMENT,
	hash    TEXT NOT NULL UNIQUE,
	person  INTEGER NOT NULL REFERENCES people (id) ON DELETE CASCADE,
	device  TEXT NOT NULL,
	address TEXT NOT NULL,
	made    INTEGER NOT NULL,
	seen    INTEGER NOT NULL,
	ends    INTEGER NOT NULL
);
CREATE INDEX sessions_by_person ON sessions (person);

CREATE TABLE passes (
	hash   TEXT PRIMARY KEY,
	person INTEGER NOT NULL REFERENCES people (id) ON DELETE CASCADE,
	ends   INTEGER NOT NULL
);
CREATE INDEX passes_by_person ON passes (person);
