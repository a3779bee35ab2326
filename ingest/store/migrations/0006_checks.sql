-- Every table is described field by field in the package comment (doc.go).

CREATE TABLE checks (
	id      INTEGER PRIMARY KEY,
	key     TEXT    NOT NULL UNIQUE,
	version INTEGER NOT NULL,
	updated INTEGER NOT NULL,
	doc     TEXT    NOT NULL,
	removed INTEGER,
	cell    INTEGER GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN doc ->> '$.cell' END) VIRTUAL
) STRICT;
CREATE INDEX checks_by_cell ON checks (cell);

CREATE TABLE drafts (
	id      INTEGER PRIMARY KEY,
	key     TEXT    NOT NULL UNIQUE,
	version INTEGER NOT NULL,
	updated INTEGER NOT NULL,
	doc     TEXT    NOT NULL,
	removed INTEGER
) STRICT;
