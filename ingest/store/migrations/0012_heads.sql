-- What a set says without its pulls, which may be a hundred thousand.

CREATE TABLE set_heads (
	kept  INTEGER NOT NULL PRIMARY KEY REFERENCES sets (id),
	pulls INTEGER NOT NULL,
	doc   TEXT NOT NULL
) STRICT;

INSERT INTO set_heads SELECT id, coalesce(json_array_length(doc, '$.pulls'), 0), json_remove(doc, '$.pulls') FROM sets WHERE json_valid(doc);

CREATE TRIGGER sets_headed AFTER INSERT ON sets WHEN json_valid(NEW.doc) BEGIN
	INSERT INTO set_heads VALUES (NEW.id, coalesce(json_array_length(NEW.doc, '$.pulls'), 0), json_remove(NEW.doc, '$.pulls'));
END;
