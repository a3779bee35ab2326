package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"tautlog/ingest/listen"
)

// newCellRoutes are the pages on which a cell is set up: a port is chosen and
// listened to, and what was heard is kept as a cell.
func (s *server) newCellRoutes() []route {
	return []route{
		reads("GET /cells/new", s.newCell).toOperators(),
		writes("POST /cells/new", s.hear),
		reads("GET /cells/new/heard", s.heard).toOperators(),
		reads("GET /cells/new/progress", s.hearingProgress).toOperators(),
		writes("POST /cells/new/keep", s.keepHeard),
		writes("POST /cells/{name}/drop", s.dropCell),
	}
}

// newCellPage lists the ports that can be listened to.
type newCellPage struct {
	Recording bool
	Ports     []portRow
	Hidden    string // why a port may be missing
	Here      bool   // any path may be written
	Wrong     string
	Path      entry
	Groups    []group
	Token     string
}

// portRow is a port in the list.
type portRow struct {
	Path, Says string
	Taken      string // by which cell it is recorded
	Chosen     bool
	Problem    string
}

func (s *server) newCell(w http.ResponseWriter, r *http.Request) error {
	return s.showNewCell(w, r, newSheet(r.URL.Query()), "")
}

func (s *server) showNewCell(w http.ResponseWriter, r *http.Request, form *sheet, wrong string) error {
	v := newCellPage{Recording: s.Recorder != nil && s.Watcher != nil, Here: visitorOf(r.Context()).Here, Wrong: wrong, Token: s.tokenIn(r.Context())}
	ports, err := listen.Ports()
	if err != nil {
		v.Hidden = sentence(err.Error())
	} else if hidden := listen.Hidden(); hidden != nil {
		v.Hidden = sentence(hidden.Error())
	}
	taken, free := s.taken(), form.typed("port")
	for _, p := range ports {
		row := portRow{Path: p.Path, Says: p.Says(), Taken: taken[p.Path], Problem: sentence(p.Problem)}
		if row.Taken == "" && p.Stable != "" {
			row.Taken = taken[p.Stable]
		}
		if free == "" && row.Taken == "" {
			free = p.Path
		}
		row.Chosen = p.Path == free
		v.Ports = append(v.Ports, row)
	}
	v.Path = form.set(entry{Name: "path", Label: text("port.other"), Hint: text("port.path")})[0]
	v.Groups = askingForm(form)
	return s.show(w, r, "newcell", text("newcell.title"), v)
}

// taken is by which cell each port is recorded.
func (s *server) taken() map[string]string {
	out := map[string]string{}
	if s.Recorder == nil {
		return out
	}
	for _, l := range s.Recorder.Recorded() {
		out[l.Line.Path] = l.Name
	}
	return out
}

// askingForm is the fields for what a person knows of the instrument.
func askingForm(f *sheet) []group {
	frames := []option{{Label: text("page.cell.new.as-set")}}
	for _, n := range []string{"8N1", "8E1", "8O1", "8N2", "7E1", "7O1"} {
		frames = append(frames, option{Value: n, Label: n})
	}
	same := func(names ...string) (out []option) {
		for _, n := range names {
			out = append(out, option{Value: n, Label: n})
		}
		return out
	}
	return []group{
		{Title: text("page.cell.new.line-settings"), More: true, Fields: f.set(
			entry{Name: "baud", Label: text("page.cell.new.baud"), Hint: text("page.cell.new.baud.hint")},
			entry{Name: "frame", Label: text("page.cell.new.frame"), Choices: frames},
			entry{Name: "seconds", Label: text("page.cell.new.seconds"), Hint: "5"},
		)},
		{Title: text("page.cell.new.asked-only"), More: true, Fields: f.set(
			entry{Name: "poll", Label: text("page.cell.new.poll"), Hint: text("page.cell.new.poll.hint")},
			entry{Name: "start", Label: text("page.cell.new.start"), Hint: text("page.cell.new.start.hint")},
			entry{Name: "every", Label: text("page.cell.new.every"), Hint: text("page.cell.new.every.hint")},
		)},
		{Title: text("page.cell.new.modbus"), More: true, Fields: f.set(
			entry{Name: "address", Label: text("page.cell.new.address"), Hint: text("page.cell.new.address.hint")},
			entry{Name: "register", Label: text("page.cell.new.register"), Hint: text("page.cell.new.register.hint")},
			entry{Name: "function", Label: text("page.cell.new.function"), Choices: []option{{Value: "3", Label: text("page.cell.new.3")}, {Value: "4", Label: text("page.cell.new.4")}}},
			entry{Name: "type", Label: text("page.cell.new.type"), Choices: same("int16", "int32", "float32")},
			entry{Name: "order", Label: text("page.cell.new.order"), Choices: same("", "ABCD", "CDAB", "BADC", "DCBA")},
			entry{Name: "unit", Label: text("page.cell.new.unit"), Choices: same("counts", "N", "kN", "kgf", "t", "lbf")},
			entry{Name: "decimals", Label: text("page.cell.new.decimals"), Hint: text("page.cell.new.decimals.hint")},
		)},
	}
}

// asking is what the form says of the instrument.
func asking(f *sheet) listen.Asking {
	a := listen.Asking{
		Start: f.typed("start"), Poll: f.typed("poll"), Timeout: 500 * time.Millisecond,
		Every: time.Duration(f.count("every", 1, 60_000, 0)) * time.Millisecond,
	}
	if f.typed("address") != "" {
		a.Registers = &listen.Registers{
			Address: f.count("address", 1, 247, 1), Register: f.count("register", 0, 65535, 0), Function: f.count("function", 3, 4, 3),
			Type: f.typed("type"), Order: f.typed("order"), Unit: f.typed("unit"), Decimals: f.count("decimals", 0, 9, 0),
		}
	}
	return a
}

// hear begins to listen to a port.
func (s *server) hear(w http.ResponseWriter, r *http.Request) error {
	form := newSheet(r.PostForm)
	if s.Recorder == nil || s.Watcher == nil {
		return s.showNewCell(w, r, form, text("newcell.norecorder"))
	}
	path := form.typed("path")
	if path == "" {
		path = form.typed("port")
	}
	if path == "" {
		form.refuse("path", text("port.none"))
	}
	if name := s.taken()[path]; name != "" {
		return s.showNewCell(w, r, form, text("port.taken", path, name))
	}
	if !visitorOf(r.Context()).Here && !portListed(path) {
		return s.showNewCell(w, r, form, text("port.unlisted", path))
	}
	line, err := listen.At(path, form.count("baud", 50, 4_000_000, 0), form.typed("frame"))
	if err != nil {
		form.refuse("frame", sentence(err.Error()))
	}
	how, err := asking(form).Config()
	seconds := form.count("seconds", 1, 30, 5)
	switch {
	case !form.good():
		return s.showNewCell(w, r, form, text("newcell.look"))
	case err != nil:
		return s.showNewCell(w, r, form, sentence(err.Error()))
	}
	s.ear.begin(listen.Options{Line: line, Wire: how}, time.Duration(seconds)*time.Second, form, s.Recorder.Done())
	http.Redirect(w, r, "/cells/new/heard", http.StatusSeeOther)
	return nil
}

// portListed says whether a port is one that the computer lists. Whoever sits at
// another machine chooses among those: any other path could be any file.
func portListed(path string) bool {
	ports, err := listen.Ports()
	if err != nil {
		return false
	}
	return slices.ContainsFunc(ports, func(i listen.Port) bool { return i.Path == path || i.Stable == path && path != "" })
}

// again is the form that listens again as before.
func (h *hearing) again() url.Values {
	q := url.Values{}
	for name, v := range h.form.q {
		if name != "token" && name != "who" {
			q[name] = v
		}
	}
	return q
}

// heardNumber is the hearing that a form was shown for; nil where it is no
// longer the latest.
func (s *server) heardNumber(r *http.Request) *hearing {
	h := s.ear.now()
	if h == nil || strconv.FormatInt(h.number, 10) != r.PostForm.Get("heard") || !h.over() || h.heard == nil {
		return nil
	}
	return h
}
