package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"tautlog/calc/gear"
	"tautlog/calc/words"
)

// MaxAttachment is the size of the largest attachment.
const MaxAttachment = 8 << 20

// Attachment is a picture: of an inspection, say. It is found by what is in it
// and kept once, however often it is attached.
type Attachment struct {
	Hash  string // SHA-256 of its bytes, 64 hexadecimal digits
	Media string // image/jpeg, image/png or image/webp
	Size  int    // bytes
	Added time.Time
}

// attachmentRef begins, in the photos of an inspection, the name of an
// attachment; its hash follows.
const attachmentRef = "sha256:"

// Ref is what stands for the attachment in gear.Inspection.Photos.
func (a Attachment) Ref() string { return attachmentRef + a.Hash }

// AttachmentHash gives the hash that an entry of gear.Inspection.Photos refers
// to; false where it is the name of a file somewhere else.
func AttachmentHash(photo string) (string, bool) { return strings.CutPrefix(photo, attachmentRef) }

// mediaOf tells by its first bytes what a picture is, whatever it is called;
// empty where it is none that is kept.
//
// Sources: ISO/IEC 10918-1 (start of image and the marker behind it); PNG
// specification, third edition, 5.2; RFC 9649 for WebP.
func mediaOf(data []byte) string {
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xd8\xff")):
		return "image/jpeg"
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		return "image/png"
	case len(data) >= 12 && string(data[:4]) == "RIFF" && string(data[8:12]) == "WEBP":
		return "image/webp"
	}
	return ""
}

// Attach keeps a picture. What is kept already is given as it is. Anything but
// JPEG, PNG and WebP, and what is larger than MaxAttachment, is ErrInvalid. To
// show it with an inspection, save an item with its Ref among the photos.
func (s *Store) Attach(ctx context.Context, r io.Reader) (Attachment, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxAttachment+1))
	if err != nil {
		return Attachment{}, fmt.Errorf("store: attach: %w", err)
	}
	a := Attachment{Media: mediaOf(data), Size: len(data), Added: s.options.Now().UTC()}
	switch {
	case a.Size > MaxAttachment:
		return a, refuse(ErrInvalid, words.Error("store.picture.large", MaxAttachment>>20))
	case a.Media == "":
		return a, refuse(ErrInvalid, words.Error("store.picture.kind"))
	}
	sum := sha256.Sum256(data)
	a.Hash = hex.EncodeToString(sum[:])
	err = s.write(ctx, "store: attach", func(tx *sql.Tx) error {
		have, _, err := readAttachment(ctx, tx, a.Hash)
		if !errors.Is(err, sql.ErrNoRows) {
			a = have
			return err
		}
		const insert = `INSERT INTO attachments (sha256, media, added, data) VALUES (?, ?, ?, ?)`
		_, err = tx.ExecContext(ctx, insert, a.Hash, a.Media, a.Added.UnixNano(), data)
		return err
	})
	return a, err
}

// Attachment gives a picture by its hash, or ErrNotFound.
func (s *Store) Attachment(ctx context.Context, hash string) (a Attachment, data []byte, err error) {
	err = s.read(ctx, "store: read attachment "+hash, func(tx *sql.Tx) error {
		a, data, err = readAttachment(ctx, tx, hash)
		return err
	})
	return a, data, err
}

func readAttachment(ctx context.Context, tx *sql.Tx, hash string) (a Attachment, data []byte, err error) {
	var added int64
	const ask = `SELECT sha256, media, added, data FROM attachments WHERE sha256 = ?`
	if err := tx.QueryRowContext(ctx, ask, hash).Scan(&a.Hash, &a.Media, &added, &data); err != nil {
		return a, nil, err
	}
	a.Size, a.Added = len(data), time.Unix(0, added).UTC()
	return a, data, nil
}

// checkItemPhotos refuses an item that refers to a picture which is not there.
func checkItemPhotos(ctx context.Context, tx *sql.Tx, it gear.Item) error {
	for _, i := range it.Inspections {
		if err := checkPhotos(ctx, tx, i.Photos, words.Say("store.inspection", i.Date)); err != nil {
			return err
		}
	}
	return nil
}

// checkPhotos refuses a picture that is referred to and not there.
func checkPhotos(ctx context.Context, tx *sql.Tx, photos []string, by string) error {
	for _, photo := range photos {
		hash, ok := AttachmentHash(photo)
		if !ok {
			continue
		}
		var there bool
		err := tx.QueryRowContext(ctx, `SELECT count(*) > 0 FROM attachments WHERE sha256 = ?`, hash).Scan(&there)
		if err != nil {
			return err
		}
		if !there {
			return refuse(ErrInvalid, words.Error("store.picture.away", by, photo))
		}
	}
	return nil
}

// attachments reads every picture, and every item and pull for those that it
// refers to.
func (c *checker) attachments(ctx context.Context) error {
	err := c.each(ctx, `SELECT sha256, media, data FROM attachments`, func(row scan) error {
		var hash, media string
		var data []byte
		err := row(&hash, &media, &data)
		if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != hash || mediaOf(data) != media {
			c.add(words.Error("store.damaged.picture", ErrDamaged, hash))
		}
		return err
	})
	if err != nil {
		return err
	}
	const missing = `SELECT DISTINCT items.id, p.value FROM items, json_tree(items.doc, '$.inspections') p
		WHERE json_valid(items.doc) AND p.path LIKE '%.photos' AND p.value LIKE '` + attachmentRef + `%'
		AND substr(p.value, 8) NOT IN (SELECT sha256 FROM attachments)`
	const missingOfPulls = `SELECT DISTINCT pulls.id, p.value FROM pulls, json_each(pulls.doc, '$.photos') p
		WHERE json_valid(pulls.doc) AND p.value LIKE '` + attachmentRef + `%'
		AND substr(p.value, 8) NOT IN (SELECT sha256 FROM attachments)`
	for what, ask := range map[string]string{"item": missing, "pull": missingOfPulls} {
		err := c.each(ctx, ask, func(row scan) error {
			var id int64
			var photo string
			err := row(&id, &photo)
			c.add(words.Error("store.damaged.nopicture", ErrDamaged, thing(what), id, photo))
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// Attachments lists what is attached, without the bytes, by hash.
func (s *Store) Attachments(ctx context.Context) (out []Attachment, err error) {
	err = s.query(ctx, "store: list attachments", func(row scan) error {
		var a Attachment
		var added int64
		err := row(&a.Hash, &a.Media, &a.Size, &added)
		a.Added = time.Unix(0, added).UTC()
		out = append(out, a)
		return err
	}, `SELECT sha256, media, length(data), added FROM attachments ORDER BY sha256`)
	return out, err
}
