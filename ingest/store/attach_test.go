package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"image"
	"image/jpeg"
	"image/png"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
)

// pictures are as the standard library writes them; of WebP, which it does not
// write, the header of RFC 9649, 2.4.
func pictures(t *testing.T) map[string][]byte {
	t.Helper()
	picture := image.NewGray(image.Rect(0, 0, 3, 2))
	var j, p bytes.Buffer
	require.NoError(t, jpeg.Encode(&j, picture, nil))
	require.NoError(t, png.Encode(&p, picture))
	return map[string][]byte{"image/jpeg": j.Bytes(), "image/png": p.Bytes(), "image/webp": []byte("RIFF\x04\x00\x00\x00WEBPVP8 ")}
}

func TestPicturesAreKeptOnceByWhatIsInThem(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{Now: atNine})
	for media, data := range pictures(t) {
		a, err := s.Attach(t.Context(), bytes.NewReader(data))
		require.NoError(t, err)
		sum := sha256.Sum256(data)
		require.Equal(t, Attachment{Hash: hex.EncodeToString(sum[:]), Media: media, Size: len(data), Added: atNine()}, a)
		again, err := s.Attach(t.Context(), bytes.NewReader(data))
		require.NoError(t, err)
		require.Equal(t, a, again)
		got, read, err := s.Attachment(t.Context(), a.Hash)
		require.NoError(t, err)
		require.Equal(t, a, got)
		require.Equal(t, data, read)
	}
	var n int
	require.NoError(t, s.reader.QueryRow(`SELECT count(*) FROM attachments`).Scan(&n))
	require.Equal(t, 3, n)
	_, _, err := s.Attachment(t.Context(), "00")
	require.ErrorIs(t, err, ErrNotFound)
}

func TestWhatIsNoPictureOrTooLargeIsRefused(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	jpg := pictures(t)["image/jpeg"]
	fits := append(bytes.Clone(jpg), make([]byte, MaxAttachment-len(jpg))...)
	_, err := s.Attach(t.Context(), bytes.NewReader(fits))
	require.NoError(t, err)
	for name, data := range map[string][]byte{
		"too large": append(fits, 0), "empty": nil, "a page": []byte("<svg onload=alert(1)>"), "cut off": []byte("RIFF\x04\x00"),
		"another RIFF": []byte("RIFF\x04\x00\x00\x00WAVEfmt "), "GIF": []byte("GIF89a"),
	} {
		_, err := s.Attach(t.Context(), bytes.NewReader(data))
		require.ErrorIs(t, err, ErrInvalid, name)
	}
}

func TestAnInspectionRefersToItsPictures(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	ctx := t.Context()
	a, err := s.Attach(ctx, bytes.NewReader(pictures(t)["image/png"]))
	require.NoError(t, err)
	it := gear.Item{ID: "s1", Name: "strap", Kind: gear.RecoveryStrap}
	it.Inspections = []gear.Inspection{{Date: "2026-05-01", Result: gear.InOrder, Photos: []string{"IMG_1.jpg", a.Ref()}}}
	_, err = s.SaveItem(ctx, Document[gear.Item]{Value: it})
	require.NoError(t, err)
	require.NoError(t, s.Integrity(ctx))
	it.Inspections[0].Photos = []string{attachmentRef + "00"}
	_, err = s.SaveItem(ctx, Document[gear.Item]{Value: it})
	require.ErrorIs(t, err, ErrInvalid)

	damage(t, s, `UPDATE attachments SET data = CAST(data || x'00' AS BLOB)`)
	require.ErrorIs(t, s.Integrity(ctx), ErrDamaged)
	damage(t, s, `UPDATE attachments SET sha256 = '00', data = substr(data, 1, length(data) - 1)`)
	require.ErrorContains(t, s.Integrity(ctx), "item 1 refers to the picture "+a.Ref())
}
