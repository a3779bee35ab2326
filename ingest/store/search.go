package store

import (
	"context"
	"database/sql"
	"encoding/json"

	"tautlog/calc/gear"
)

// searchedFormat is the format since which the program writes what a search
// looks through of an item.
const searchedFormat = 14

// writeWords writes what a search looks through of a document that was written.
// Of vehicles and rigs the database works it out by itself.
func writeWords(ctx context.Context, tx *sql.Tx, table string, id int64, doc []byte) error {
	if table != itemShelf().table {
		return nil
	}
	var it gear.Item
	if err := json.Unmarshal(doc, &it); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, `UPDATE items SET search = ? WHERE id = ?`, it.Words(), id)
	return err
}

// writeAllWords does it for every item of a store of an older format. One that is
// damaged stays as it is and is not found by its words; who reads it is told.
func writeAllWords(ctx context.Context, tx *sql.Tx) error {
	docs := map[int64][]byte{}
	err := eachIn(ctx, tx, func(row scan) error {
		var id int64
		var doc []byte
		err := row(&id, &doc)
		docs[id] = doc
		return err
	}, `SELECT id, doc FROM items`)
	if err != nil {
		return err
	}
	for id, doc := range docs {
		if json.Unmarshal(doc, new(gear.Item)) != nil {
			continue
		}
		if err := writeWords(ctx, tx, "items", id, doc); err != nil {
			return err
		}
	}
	return nil
}
