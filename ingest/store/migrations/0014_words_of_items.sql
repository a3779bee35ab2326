-- What a search looks through of an item is written by the program (search.go),
-- because it has the ratings in every unit. That of the items that are there
-- already is filled in by it, in the same transaction. See doc.go.

DROP INDEX items_search;
ALTER TABLE items DROP COLUMN search;
ALTER TABLE items ADD COLUMN search TEXT NOT NULL DEFAULT '';
CREATE INDEX items_search ON items (key, removed, search);
