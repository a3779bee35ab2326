package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"io/fs"
	"net/http"
	"time"
)

//go:embed all:dist
var dist embed.FS

// assets are the built script and style sheet; built is false where go
// generate has not been run.
type assets struct {
	built   bool
	version string // of their content; part of their address
	files   map[string][]byte
}

func loadAssets() (assets, error) {
	a := assets{built: true, files: map[string][]byte{}}
	sum := sha256.New()
	for _, name := range []string{"main.js", "pages.css"} {
		b, err := dist.ReadFile("dist/" + name)
		if errors.Is(err, fs.ErrNotExist) {
			return assets{}, nil
		}
		if err != nil {
			return assets{}, err
		}
		sum.Write(b)
		a.files[name] = b
	}
	a.version = hex.EncodeToString(sum.Sum(nil)[:8])
	return a, nil
}

// asset serves one built file. Its address changes with its content, so that
// it may be kept for good.
func (s *server) asset(w http.ResponseWriter, r *http.Request) error {
	name := r.PathValue("name")
	b, ok := s.assets.files[name]
	if !ok || r.PathValue("version") != s.assets.version {
		return notHere()
	}
	w.Header().Set("Cache-Control", "max-age=31536000, immutable")
	http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(b))
	return nil
}
