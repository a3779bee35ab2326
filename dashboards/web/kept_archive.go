package web

import (
	"errors"
	"net/http"
	"net/url"
	"strings"
	"time"

	"tautlog/ingest/archive"
)

// archiveView is how far the archive is.
type archiveView struct {
	Never   bool // nothing is ever pushed from here
	Given   bool // one is told
	Fixed   bool // by the command line or the environment
	Problem string
	Pushing bool
	Unsafe  bool // the token goes there unencrypted
	Station string
	All     []archiveState
	Open    bool // the form is unfolded
	Fields  []group
}

// archiveState is one archive, the one that is told before others.
type archiveState struct {
	Address, Says, Refused string
	Taken, Failed          string
	Told                   bool
}

// archiveView collects the facts that the command "archive status" tells, with
// the form as it was filled in.
func (s *server) archiveView(r *http.Request, form *sheet) (v archiveView, err error) {
	if s.Archive == nil {
		return archiveView{Never: true}, nil
	}
	told := s.Archive.Told()
	v.Given, v.Fixed, v.Problem, v.Pushing = told.Given, told.Fixed, sentence(told.Problem), s.Archive.Pushing()
	address := ""
	if told.Given && told.Check() == nil {
		address, v.Unsafe = told.Address(), told.Unsealed()
	}
	status, err := archive.StatusOf(r.Context(), s.Store, address)
	if err != nil {
		return v, err
	}
	v.Station = status.Station
	for _, a := range status.Archives {
		v.All = append(v.All, s.archiveState(a))
	}
	v.Open = !v.Given || !form.good()
	form.fill(map[string]string{"url": told.URL, "org": told.Org, "bucket": told.Bucket, "ca": told.CAFile, "station": status.Station})
	secret := text("archive.token.hint")
	if told.TokenFile != "" {
		secret = text("archive.token.kept")
	}
	v.Fields = []group{{Title: text("archive.where"), Fields: form.set(
		entry{Name: "url", Label: text("archive.url"), Hint: text("page.kept.archive.url.hint"), Long: true},
		entry{Name: "bucket", Label: text("archive.bucket"), Hint: text("archive.bucket.hint")},
		entry{Name: "org", Label: text("archive.org"), Hint: text("archive.org.hint")},
		entry{Name: "secret", Label: text("archive.token"), Hint: secret, Kind: "password", Fill: "off"},
	)}, {Title: text("archive.more"), More: true, Fields: form.set(
		entry{Name: "ca", Label: text("archive.ca"), Hint: text("archive.ca.hint"), Long: true},
		entry{Name: "station", Label: text("archive.station"), Hint: text("archive.station.hint")},
	)}}
	return v, nil
}

func (s *server) archiveState(a archive.State) archiveState {
	out := archiveState{Address: a.Archive, Told: a.Told, Says: text("archive.complete")}
	at := func(t *time.Time) string { return s.at(t.UnixNano()) }
	if !a.Complete() {
		out.Says = text("archive.waits", a.Waits())
		if a.Behind != nil {
			out.Says = text("archive.waitsfrom", a.Waits(), at(a.Behind))
		}
	}
	if a.Refused > 0 {
		out.Refused = count("archive.refused", a.Refused)
	}
	out.Taken = text("archive.never")
	if a.LastSuccess != nil {
		out.Taken = text("archive.taken", at(a.LastSuccess))
	}
	if a.LastFailure != nil && (a.Failing || a.Refused > 0) {
		out.Failed = text("archive.failed", at(a.LastFailure), a.LastError)
	}
	return out
}

// archiveNow is how far the archive is, for a page that is open.
func (s *server) archiveNow(w http.ResponseWriter, r *http.Request) error {
	v, err := s.archiveView(r, newSheet(nil))
	if err != nil {
		return err
	}
	return s.fragment(w, r, "kept", "archive-now", v)
}

// toArchive does something with the archive, or says why not, and shows it.
func (s *server) toArchive(w http.ResponseWriter, r *http.Request, do func() error) error {
	if s.Archive == nil {
		return refuse(http.StatusConflict, text("archive.never.here"))
	}
	err := do()
	if errors.Is(err, archive.ErrFixed) || errors.Is(err, archive.ErrNone) {
		return refuse(http.StatusConflict, sentence(err.Error()))
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/kept#archive", http.StatusSeeOther)
	return nil
}

func (s *server) pushNow(w http.ResponseWriter, r *http.Request) error {
	return s.toArchive(w, r, func() error { return s.Archive.PushNow() })
}

func (s *server) forgetArchive(w http.ResponseWriter, r *http.Request) error {
	return s.toArchive(w, r, func() error { return s.Archive.Forget(r.Context()) })
}

// setArchive puts another archive in force. Its token is kept in a file, and
// shown to nobody.
func (s *server) setArchive(w http.ResponseWriter, r *http.Request) error {
	if s.Archive == nil {
		return refuse(http.StatusConflict, text("archive.never.here"))
	}
	form := newSheet(url.Values{})
	for _, name := range []string{"url", "org", "bucket", "ca", "station"} {
		form.q[name] = r.PostForm[name]
	}
	want := archive.Settings{
		URL: form.typed("url"), Org: form.typed("org"), Bucket: form.typed("bucket"), CAFile: form.typed("ca"),
		Token: archive.Secret(strings.TrimSpace(r.PostForm.Get("secret"))),
	}
	station, err := s.Store.Station(r.Context(), "")
	if err != nil {
		return err
	}
	if want.Station = form.typed("station"); station != "" && want.Station != "" && want.Station != station {
		form.refuse("station", text("archive.station.fixed", station))
	}
	if form.good() {
		if err = s.Archive.Change(r.Context(), want); err == nil || errors.Is(err, archive.ErrFixed) {
			return s.toArchive(w, r, func() error { return err })
		}
		refuseSetting(form, err)
	}
	return s.showKept(w, r, http.StatusBadRequest, keptForms{newSheet(nil), form}, nil)
}

// refuseSetting says beside its field why settings were not taken.
func refuseSetting(form *sheet, err error) {
	if wrong, ok := errors.AsType[*archive.SettingError](err); ok {
		form.refuse(wrong.Setting, sentence(wrong.Setting+" "+wrong.Says))
		return
	}
	field := "ca"
	if errors.Is(err, archive.ErrToken) || errors.Is(err, archive.ErrOtherServer) {
		field = "secret"
	}
	form.refuse(field, sentence(err.Error()))
}
