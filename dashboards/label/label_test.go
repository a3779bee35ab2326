package label_test

import (
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/label"
	"tautlog/ingest/needs"
)

// TestIsReadAgain draws codes and has another program, zbarimg of the ZBar
// project, read them from a picture.
func TestIsReadAgain(t *testing.T) {
	t.Parallel()
	reader := needs.Program(t, "zbarimg", "zbar-tools")
	for name, text := range map[string]string{
		"short": "1", "address": "http://river-bar.local:8080/gear/10000",
		"words": "blue strap 9 m, MBS 80 kN", "long": strings.Repeat("gear/", 100),
	} {
		t.Run(name, func(t *testing.T) {
			svg, err := label.QR(text)
			require.NoError(t, err)
			file := filepath.Join(t.TempDir(), "label.png")
			paint(t, string(svg), file)
			out, err := exec.Command(reader, "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", file).Output() // it complains of a missing desktop bus beside it
			require.NoError(t, err)
			assert.Equal(t, text, strings.TrimSuffix(string(out), "\n"))
		})
	}
}

// paint makes a picture of what stands in the SVG, four points to a module.
func paint(t *testing.T, svg, file string) {
	t.Helper()
	whole := func(s string) int { n, err := strconv.Atoi(s); require.NoError(t, err); return n }
	side := whole(regexp.MustCompile(`viewBox="0 0 (\d+) `).FindStringSubmatch(svg)[1])
	img := image.NewGray(image.Rect(0, 0, 4*side, 4*side))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	runs := regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-(\d+)z`).FindAllStringSubmatch(svg, -1)
	require.NotEmpty(t, runs)
	for _, m := range runs {
		x, y, n := whole(m[1]), whole(m[2]), whole(m[3])
		require.Equal(t, m[3], m[4], "a run that is not closed")
		for px := 4 * x; px < 4*(x+n); px++ {
			for py := 4 * y; py < 4*(y+1); py++ {
				img.SetGray(px, py, color.Gray{})
			}
		}
	}
	f, err := os.Create(file)
	require.NoError(t, err)
	require.NoError(t, png.Encode(f, img))
	require.NoError(t, f.Close())
}

func TestRefused(t *testing.T) {
	t.Parallel()
	_, err := label.QR(strings.Repeat("a", 4000))
	assert.Error(t, err)
	_, err = label.QR("http://größer.local/gear/1")
	assert.ErrorContains(t, err, "ASCII")
}
