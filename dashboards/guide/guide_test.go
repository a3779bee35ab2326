package guide_test

import (
	"bytes"
	"image/png"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/guide"
)

// Every picture of the guide is there and says in words what it shows, every
// link within it leads to a heading, and the cautions come before the first pull.
func TestGuide(t *testing.T) {
	t.Parallel()
	html, err := guide.Text("/guide/")
	require.NoError(t, err)
	text := string(html)
	pictures := regexp.MustCompile(`<img loading="lazy" src="/guide/([^"]+)" alt="([^"]*)"`).FindAllStringSubmatch(text, -1)
	assert.GreaterOrEqual(t, len(pictures), 6)
	assert.Equal(t, strings.Count(text, "<img"), len(pictures))
	for _, p := range pictures {
		_, err := png.DecodeConfig(bytes.NewReader(guide.Picture(p[1])))
		assert.NoError(t, err, p[1])
		assert.Greater(t, len(p[2]), 30, "%s is not told in words", p[1])
	}
	for _, link := range regexp.MustCompile(`href="#([^"]+)"`).FindAllStringSubmatch(text, -1) {
		assert.Contains(t, text, `id="`+link[1]+`"`)
	}
	caution, pull := strings.Index(text, "A pull can kill"), strings.Index(text, "first pull</h2>")
	assert.True(t, 0 < caution && caution < pull, "the cautions come first")
	assert.NotRegexp(t, `(?i)\bsafe(ly|ty)?\b`, text)
	assert.Nil(t, guide.Picture("guide.md"))
	assert.Nil(t, guide.Picture("../guide.go"))
}
