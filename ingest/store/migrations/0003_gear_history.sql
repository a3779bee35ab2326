-- Every table is described field by field in the package comment (doc.go).
-- What the tables pull_items and pull_vehicles hold of the pulls that are there
-- already is filled in by link.go, in the same transaction.

ALTER TABLE pulls ADD COLUMN kind TEXT GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN coalesce(doc ->> '$.kind', '') END) VIRTUAL;
ALTER TABLE pulls ADD COLUMN ground TEXT GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN coalesce(doc ->> '$.ground', '') END) VIRTUAL;
CREATE INDEX pulls_by_kind ON pulls (kind, start_ns);
CREATE INDEX pulls_by_ground ON pulls (ground, start_ns);
CREATE INDEX pulls_by_kind_and_ground ON pulls (kind, ground, start_ns);

CREATE TABLE pull_items (
	pull     INTEGER NOT NULL REFERENCES pulls (id),
	key      TEXT    NOT NULL,
	item     INTEGER REFERENCES items (id),
	start_ns INTEGER NOT NULL,
	kind     TEXT    NOT NULL,
	ground   TEXT    NOT NULL,
	doc      TEXT    NOT NULL,
	PRIMARY KEY (pull, key)
) STRICT, WITHOUT ROWID;
CREATE INDEX pull_items_by_item ON pull_items (item, start_ns, pull, kind, ground);
CREATE INDEX pull_items_unknown ON pull_items (key) WHERE item IS NULL;

CREATE TABLE pull_vehicles (
	pull     INTEGER NOT NULL REFERENCES pulls (id),
	key      TEXT    NOT NULL,
	vehicle  INTEGER REFERENCES vehicles (id),
	start_ns INTEGER NOT NULL,
	kind     TEXT    NOT NULL,
	ground   TEXT    NOT NULL,
	doc      TEXT    NOT NULL,
	PRIMARY KEY (pull, key)
) STRICT, WITHOUT ROWID;
CREATE INDEX pull_vehicles_by_vehicle ON pull_vehicles (vehicle, start_ns, pull, kind, ground);
CREATE INDEX pull_vehicles_unknown ON pull_vehicles (key) WHERE vehicle IS NULL;

ALTER TABLE cells ADD COLUMN removed INTEGER;
ALTER TABLE vehicles ADD COLUMN removed INTEGER;
ALTER TABLE items ADD COLUMN removed INTEGER;
ALTER TABLE rigs ADD COLUMN removed INTEGER;
ALTER TABLE days ADD COLUMN removed INTEGER;
ALTER TABLE plans ADD COLUMN removed INTEGER;

ALTER TABLE vehicles ADD COLUMN search TEXT GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN
	concat_ws(' ', doc ->> '$.id', doc ->> '$.name', doc ->> '$.notes') END) VIRTUAL;
ALTER TABLE items ADD COLUMN search TEXT GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN
	concat_ws(' ', doc ->> '$.id', doc ->> '$.name', doc ->> '$.kind', doc ->> '$.vehicle', doc ->> '$.where', doc ->> '$.maker',
		doc ->> '$.serial', doc ->> '$.notes') END) VIRTUAL;
ALTER TABLE rigs ADD COLUMN search TEXT GENERATED ALWAYS AS (CASE WHEN json_valid(doc) THEN
	concat_ws(' ', doc ->> '$.id', doc ->> '$.name', doc ->> '$.pulling.name', doc ->> '$.stuck.name', doc ->> '$.notes') END) VIRTUAL;
CREATE INDEX vehicles_search ON vehicles (key, removed, search);
CREATE INDEX items_search ON items (key, removed, search);
CREATE INDEX rigs_search ON rigs (key, removed, search);

CREATE INDEX journal_by_what ON journal (what);

CREATE TABLE attachments (
	sha256 TEXT    NOT NULL PRIMARY KEY,
	media  TEXT    NOT NULL,
	added  INTEGER NOT NULL,
	data   BLOB    NOT NULL
) STRICT;
