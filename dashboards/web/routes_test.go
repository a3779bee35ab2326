package web

import (
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestRoutesSayWhatTheyDo holds the table to its words: what is asked for with
// GET changes nothing, and whatever else is sent is known to change something.
func TestRoutesSayWhatTheyDo(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, rt := range (&server{}).routes() {
		method, path, ok := strings.Cut(rt.pattern, " ")
		assert.True(t, ok && strings.HasPrefix(path, "/"), "%q names no method and path", rt.pattern)
		assert.False(t, seen[rt.pattern], "%s is there twice", rt.pattern)
		seen[rt.pattern] = true
		switch rt.effect {
		case showing:
			assert.Equal(t, "GET", method, "%s shows only", rt.pattern)
			assert.Zero(t, rt.most, "%s reads a form and says that it changes nothing", rt.pattern)
		case choosing, writing:
			assert.Equal(t, "POST", method, "%s changes something", rt.pattern)
			assert.Positive(t, rt.most, "%s can read no form", rt.pattern)
		default:
			t.Errorf("%s does not say what it does", rt.pattern)
		}
	}
	assert.Greater(t, len(seen), 40)
}

// TestAFaultOfThePageIsToldAsAPage lets a page panic: whoever asked is told, the
// output has the place, and an answer that was ended on purpose stays ended.
func TestAFaultOfThePageIsToldAsAPage(t *testing.T) {
	t.Parallel()
	var out strings.Builder
	s := &server{Config: Config{Log: slog.New(slog.NewTextHandler(&out, nil))}}
	var none map[string]int
	err := s.answered(reads("GET /x", func(http.ResponseWriter, *http.Request) error { none["a"]++; return nil }), httptest.NewRecorder(), httptest.NewRequest("GET", "/x", nil))
	said, ok := err.(refusal)
	assert.True(t, ok)
	assert.Equal(t, 500, said.status)
	assert.Contains(t, out.String(), "routes_test.go")
	assert.PanicsWithValue(t, http.ErrAbortHandler, func() {
		_ = s.answered(reads("GET /x", func(http.ResponseWriter, *http.Request) error { panic(http.ErrAbortHandler) }), httptest.NewRecorder(), httptest.NewRequest("GET", "/x", nil))
	})
}
