package archive

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/netip"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"tautlog/calc/strict"
	"tautlog/calc/words"
)

// Settings say where an archive is and how to speak to it.
type Settings struct {
	URL       string `json:"url"`        // of the server: https://archive.example:8086
	Org       string `json:"org"`        // organisation; empty for version 1.8
	Bucket    string `json:"bucket"`     // "database/retention policy" for version 1.8
	TokenFile string `json:"token_file"` // holds the token; nobody else may read it
	CAFile    string `json:"ca_file"`    // certificates (PEM) to trust beside those of the system; empty: none
	Station   string `json:"station"`    // what this store is called there; empty: by the computer's name

	Token Secret `json:"-"` // in place of TokenFile
}

// Secret is a text that does not show itself when it is printed, logged or
// encoded.
type Secret string

const hidden = "(hidden)"

// String hides it.
func (Secret) String() string { return hidden }

// GoString hides it.
func (Secret) GoString() string { return hidden }

// MarshalText hides it.
func (Secret) MarshalText() ([]byte, error) { return []byte(hidden), nil }

// ReadSettings reads a file of settings: one JSON object with the keys of
// Settings. Names of files in it are looked for beside it.
func ReadSettings(path string) (Settings, error) {
	var s Settings
	f, err := os.Open(path)
	if err != nil {
		return s, words.Error("archive.error.settings", err)
	}
	defer f.Close()
	if _, err := strict.Decode(f, &s); err != nil {
		return s, fmt.Errorf("%s: %w", path, err)
	}
	for _, name := range []*string{&s.TokenFile, &s.CAFile} {
		if *name != "" && !filepath.IsAbs(*name) {
			*name = filepath.Join(filepath.Dir(path), *name)
		}
	}
	return s, nil
}

// ErrSettings says that settings name no archive.
var ErrSettings = words.Kind("archive.error.noarchive")

// SettingError is one setting that cannot work. It is an ErrSettings.
type SettingError struct {
	Setting string // its key
	Says    string // what is wrong with it and what to do
}

// Error is a sentence for people.
func (e *SettingError) Error() string {
	return words.Say("archive.error.setting", ErrSettings, e.Setting, e.Says)
}

// Unwrap gives ErrSettings.
func (e *SettingError) Unwrap() error { return ErrSettings }

// Check refuses settings that cannot work with a *SettingError.
func (s Settings) Check() error {
	u, err := url.Parse(s.URL)
	switch {
	case s.URL == "":
		return &SettingError{"url", words.Say("archive.url.missing")}
	case err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https":
		return &SettingError{"url", words.Say("archive.url.wrong")}
	case u.User != nil:
		return &SettingError{"url", words.Say("archive.url.password")}
	case u.RawQuery != "" || u.Fragment != "":
		return &SettingError{"url", words.Say("archive.url.behind")}
	case s.Bucket == "":
		return &SettingError{"bucket", words.Say("archive.bucket.missing")}
	}
	return nil
}

// Address names the archive: what is pushed to one address is not at another.
func (s Settings) Address() string {
	a := strings.TrimRight(s.URL, "/") + " bucket " + s.Bucket
	if s.Org != "" {
		a += " of " + s.Org
	}
	return a
}

// Unsealed tells that the token would cross a network that others may listen
// to.
func (s Settings) Unsealed() bool {
	u, err := url.Parse(s.URL)
	if err != nil || u.Scheme != "http" || u.Hostname() == "localhost" {
		return false
	}
	ip, err := netip.ParseAddr(u.Hostname())
	return err != nil || !ip.IsLoopback()
}

// token is the token: that of the settings, else what the file holds.
func (s Settings) token() (string, error) {
	if s.Token != "" || s.TokenFile == "" {
		return string(s.Token), nil
	}
	info, err := os.Stat(s.TokenFile)
	if err != nil {
		return "", words.Error("archive.error.tokenfile", err)
	}
	if runtime.GOOS != "windows" && info.Mode()&0o077 != 0 {
		return "", words.Error("archive.error.tokenopen", s.TokenFile, s.TokenFile)
	}
	text, err := os.ReadFile(s.TokenFile)
	if err != nil {
		return "", words.Error("archive.error.tokenfile", err)
	}
	token := strings.TrimSpace(string(text))
	if !validToken(token) {
		return "", words.Error("archive.error.tokenempty", s.TokenFile)
	}
	return token, nil
}

// validToken says that a text can be a token: such as goes into a header.
func validToken(t string) bool {
	return t != "" && !strings.ContainsFunc(t, func(r rune) bool { return r < ' ' || r > '~' })
}

// write keeps settings, without a token, in a file for ReadSettings. Names of
// files beside it are written without their directory, so that it can be moved.
func (s Settings) write(path string) error {
	for _, name := range []*string{&s.TokenFile, &s.CAFile} {
		if filepath.Dir(*name) == filepath.Dir(path) {
			*name = filepath.Base(*name)
		}
	}
	text, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return err
	}
	return replaceFile(path, append(text, '\n'))
}

// replaceFile puts a file in the place of one that may be there, whole and for
// nobody else to read, or leaves that one.
func replaceFile(path string, text []byte) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".tautlog-settings-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	if _, err = f.Write(text); err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// certificates are those of CAFile; nil where none is named.
func (s Settings) certificates() ([]byte, error) {
	if s.CAFile == "" {
		return nil, nil
	}
	pem, err := os.ReadFile(s.CAFile)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, words.Error("archive.error.nocerts", s.CAFile)
	}
	return pem, err
}

// Or takes what s leaves open from other.
func (s Settings) Or(other Settings) Settings {
	s.URL, s.Org, s.Bucket = cmp.Or(s.URL, other.URL), cmp.Or(s.Org, other.Org), cmp.Or(s.Bucket, other.Bucket)
	s.CAFile, s.Station = cmp.Or(s.CAFile, other.CAFile), cmp.Or(s.Station, other.Station)
	if s.Token == "" && s.TokenFile == "" {
		s.Token, s.TokenFile = other.Token, other.TokenFile
	}
	return s
}
