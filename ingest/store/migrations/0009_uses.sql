-- Every table is described field by field in the package comment (doc.go).
-- The documents of pull_items, which hold more from this format on, are written
-- anew by link.go, in the same transaction.

ALTER TABLE pull_items ADD COLUMN beside INTEGER NOT NULL DEFAULT 0;
ALTER TABLE pull_items ADD COLUMN most REAL;
CREATE INDEX pull_items_used ON pull_items (item, beside, most);

CREATE TABLE items_used (
	item    INTEGER NOT NULL PRIMARY KEY,
	changed INTEGER NOT NULL
) STRICT;
CREATE INDEX items_used_by_change ON items_used (changed);

CREATE TRIGGER pull_items_in AFTER INSERT ON pull_items WHEN NEW.item IS NOT NULL BEGIN
	INSERT OR REPLACE INTO items_used SELECT NEW.item, coalesce(max(changed), 0) + 1 FROM items_used;
END;
CREATE TRIGGER pull_items_out AFTER DELETE ON pull_items WHEN OLD.item IS NOT NULL BEGIN
	INSERT OR REPLACE INTO items_used SELECT OLD.item, coalesce(max(changed), 0) + 1 FROM items_used;
END;
CREATE TRIGGER pull_items_known AFTER UPDATE OF item ON pull_items WHEN NEW.item IS NOT NULL BEGIN
	INSERT OR REPLACE INTO items_used SELECT NEW.item, coalesce(max(changed), 0) + 1 FROM items_used;
END;
