package web_test

import (
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/store"
)

// TestPhotosOfAPull: a picture is kept with a pull, shown, taken away, and
// brought back; what is none is refused beside its field. Measuring the pull
// again leaves its pictures.
func TestPhotosOfAPull(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	now := func() store.Pull {
		p, err := f.store.Pull(t.Context(), f.pull.ID)
		require.NoError(t, err)
		return p
	}
	res, text := uploaded(t, f, "/pulls/1/photos", "photo", nil, map[string][]byte{"notes.txt": []byte("no picture")})
	assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode)
	assert.Contains(t, text, "notes.txt")
	res, text = uploaded(t, f, "/pulls/1/photos", "photo", nil, nil)
	assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode)
	assert.Contains(t, text, "Choose a picture first.")
	assert.Empty(t, now().Photos)

	res, text = uploaded(t, f, "/pulls/1/photos", "photo", nil, map[string][]byte{"a.png": picture(t)})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, text)
	require.Len(t, now().Photos, 1)
	hash, _ := store.AttachmentHash(now().Photos[0])
	assert.Contains(t, f.page(t, "/pulls/1"), `<img src="/pictures/`+hash)
	again := found()
	again.Peak++
	_, err := f.store.SavePull(t.Context(), store.Pull{Cell: f.cell.ID, Found: again, Settled: true})
	require.NoError(t, err)
	assert.Len(t, now().Photos, 1, "the analysis does not touch them")

	ref := now().Photos[0]
	away := func(ref string) *http.Response {
		return f.ask("POST", "/pulls/1/photos/away", url.Values{"token": {f.token(t)}, "ref": {ref}}, nil)
	}
	require.Equal(t, http.StatusSeeOther, away(ref).StatusCode)
	assert.Empty(t, now().Photos)
	assert.Equal(t, http.StatusNotFound, away(ref).StatusCode)
	page := f.page(t, "/pulls/1")
	assert.Contains(t, page, "pictures: it had 1")
	change, err := f.store.Changes(t.Context(), store.JournalFilter{What: "pull", Ref: 1, Limit: 1})
	require.NoError(t, err)
	_, err = f.store.Undo(t.Context(), change[0].ID)
	require.NoError(t, err)
	assert.Equal(t, []string{ref}, now().Photos)

	p := now()
	p.Photos = []string{"sha256:00"}
	_, err = f.store.SavePull(t.Context(), p)
	assert.ErrorIs(t, err, store.ErrInvalid, "a picture that is not kept")
	require.NoError(t, f.store.Integrity(t.Context()))
}
