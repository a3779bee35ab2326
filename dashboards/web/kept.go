package web

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path/filepath"
	"regexp"
	"time"
	"unicode/utf8"

	"tautlog/ingest/store"
)

// keptRoutes are the page of what is kept where, and what is done there.
func (s *server) keptRoutes() []route {
	return []route{
		reads("GET /kept", s.kept).toOperators(),
		reads("GET /kept/archive", s.archiveNow).toOperators(),
		writes("POST /kept/push", s.pushNow),
		writes("POST /kept/archive", s.setArchive),
		writes("POST /kept/archive/away", s.forgetArchive),
		chooses("POST /kept/backup", s.saveAll).toOperators(),
		writes("POST /kept/restore", s.restore).withLargeFile(maxBackup),
		writes("POST /kept/open", s.openOther),
		chooses("POST /kept/back", s.backToOwn),
	}
}

// maxBackup is the largest saved file that is taken back over a page. A larger
// one is restored by the command.
const maxBackup = 64 << 30

// keptPage is the page of what is kept, and where.
type keptPage struct {
	Dir, Size string
	Restored  *restoredView
	Bring     []entry
	Name      string // of the directory
	Others    []otherStore
	Archive   archiveView
	Token     string
}

// restoredView is a store that was made of a saved file.
type restoredView struct{ Dir, Name, File string }

func (s *server) kept(w http.ResponseWriter, r *http.Request) error {
	return s.showKept(w, r, http.StatusOK, keptForms{newSheet(nil), newSheet(nil)}, nil)
}

// keptForms are the forms of the page as they were filled in.
type keptForms struct{ bring, archive *sheet }

func (s *server) showKept(w http.ResponseWriter, r *http.Request, status int, forms keptForms, done *restoredView) error {
	size, err := s.Store.Size()
	if err != nil {
		return err
	}
	dir, err := filepath.Abs(s.Store.Dir())
	if err != nil {
		return err
	}
	v := keptPage{Dir: dir, Size: megabytes(size), Restored: done, Name: filepath.Base(dir), Others: s.otherStores(r, dir), Token: s.tokenIn(r.Context())}
	forms.bring.fill(map[string]string{"name": "restored-" + string(s.today())})
	v.Bring = forms.bring.set(
		entry{Name: "name", Label: text("kept.newdir"), Hint: text("kept.newdir.hint", filepath.Dir(dir))},
		entry{Name: "file", Label: text("kept.file"), Kind: "file", Takes: "*/*"}, // the last: see fileForm
	)
	if v.Archive, err = s.archiveView(r, forms.archive); err != nil {
		return err
	}
	return s.showAs(w, r, status, "kept", text("kept.title"), v)
}

// megabytes says a length as people do.
func megabytes(n int64) string { return fmt.Sprintf("%.1f MB", float64(n)/1e6) }

// saveAll sends everything in the store, as it is at this moment, in one file.
// Recording goes on meanwhile.
func (s *server) saveAll(w http.ResponseWriter, r *http.Request) error {
	if !s.saving.TryLock() {
		return refuse(http.StatusConflict, text("refused.saving"))
	}
	defer s.saving.Unlock()
	s.Log.Info("everything is being saved in one file", "who", visitorOf(r.Context()).Name)
	rc := http.NewResponseController(w)
	_ = rc.SetWriteDeadline(time.Time{}) // until it is made; a recorder in a test has none
	began := false
	err := s.Store.BackedUp(r.Context(), func(size int64, backup io.Reader) error {
		began = true
		s.nameFile(w, "application/octet-stream", string(s.today())+".tautlog")
		w.Header().Set("Content-Length", fmt.Sprint(size))
		_, err := io.Copy(slowly{w, rc}, backup)
		return err
	})
	if err != nil && began { // the browser hears that it is not whole by its length
		s.Log.Warn("everything was being saved in one file for a browser, and it was not taken to its end", "problem", err)
		return nil
	}
	if errors.Is(err, store.ErrRoom) {
		return refuse(http.StatusInsufficientStorage, sentence(err.Error()))
	}
	return err
}

// directoryName is what a new directory may be called: a name alone. How long it
// may be is not in the expression, which would hold the letters of all scripts as
// often, and be made at every start.
var directoryName = regexp.MustCompile(`^[\p{L}\p{N}_][\p{L}\p{N}_.\- ]*$`)

const directoryNameMost = 80

func isDirectoryName(name string) bool {
	return directoryName.MatchString(name) && utf8.RuneCountInString(name) <= directoryNameMost
}

// restore makes a store of its own out of a saved file, in a new directory
// beside the one in use, which stays as it is.
func (s *server) restore(w http.ResponseWriter, r *http.Request) error {
	file, form := fileOf(r), newSheet(r.PostForm)
	defer func() { _, _ = io.Copy(io.Discard, file) }()
	_ = http.NewResponseController(w).SetWriteDeadline(time.Time{}) // what comes is read and checked first
	again := func() error {
		_, _ = io.Copy(io.Discard, file) // so that the browser listens to the answer
		return s.showKept(w, r, http.StatusBadRequest, keptForms{form, newSheet(nil)}, nil)
	}
	name := form.typed("name")
	switch {
	case !isDirectoryName(name):
		form.refuse("name", text("kept.noname"))
		return again()
	case file.Name == "":
		form.refuse("file", text("kept.nofile"))
		return again()
	}
	dir, err := filepath.Abs(filepath.Join(s.Store.Dir(), "..", name))
	if err != nil {
		return err
	}
	err = store.RestoreNew(r.Context(), file, r.ContentLength, file.Name, dir)
	_, big := errors.AsType[*http.MaxBytesError](err)
	switch {
	case big:
		return refuse(http.StatusRequestEntityTooLarge, text("refused.bigfile", int64(maxBackup)>>30))
	case errors.Is(err, store.ErrRoom):
		return refuse(http.StatusInsufficientStorage, sentence(err.Error()))
	case errors.Is(err, store.ErrConflict), errors.Is(err, store.ErrReadOnly):
		form.refuse("name", sentence(err.Error()))
		return again()
	case err != nil:
		form.refuse("file", sentence(err.Error()))
		return again()
	}
	s.Log.Info("a saved file was made a store", "who", visitorOf(r.Context()).Name, "dir", dir)
	return s.showKept(w, r, http.StatusOK, keptForms{newSheet(url.Values{}), newSheet(nil)}, &restoredView{dir, name, file.Name})
}
