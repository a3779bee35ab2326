package web

import (
	"context"
	"errors"
	"io"
	"net/http"
	"time"

	"tautlog/calc/unit"
	"tautlog/ingest/intake"
	"tautlog/ingest/store"
	"tautlog/ingest/tracefile"
)

// maxTrace is the longest trace that is brought in over a page: some 400 million
// readings. A longer one is brought in by the command.
const maxTrace = 8 << 30

// sayNoTrace is how much is read of a trace that is refused, so that the browser
// listens to the answer.
const sayNoTrace = 64 << 20

func (s *server) traceInRoutes() []route {
	return []route{
		reads("GET /files/trace", s.traceIn).toOperators(),
		writes("POST /files/trace", s.bringTrace).withLargeFile(maxTrace),
	}
}

// traceInPage is the page on which a trace that was recorded elsewhere is brought
// in.
type traceInPage struct {
	Wrong  bool
	Fields []entry
	Done   *traceBrought
	Token  string
}

// traceBrought is what was brought in, and where to look at it.
type traceBrought struct {
	Says, Found       string
	Day, Pulls, Trace string // addresses
	Cell              string
}

func (s *server) traceIn(w http.ResponseWriter, r *http.Request) error {
	return s.traceInPage(w, r, newSheet(nil), nil)
}

func (s *server) traceInPage(w http.ResponseWriter, r *http.Request, f *sheet, done *traceBrought) error {
	v := traceInPage{Wrong: !f.good(), Done: done, Token: s.tokenIn(r.Context())}
	cells, err := s.Store.Cells(r.Context())
	if err != nil {
		return err
	}
	var names []string
	for _, c := range cells {
		names = append(names, c.Name)
	}
	units := []option{{Label: text("tracein.unit.name")}}
	for _, u := range shownUnits {
		units = append(units, option{Value: string(u), Label: string(u)})
	}
	f.fill(map[string]string{"who": signature(r)})
	v.Fields = f.in(chosen(r).Unit).set(
		entry{Name: "cell", Label: text("tracein.cell"), Hint: text("tracein.cell.hint"), Suggest: names},
		entry{Name: "capacity", Label: text("tracein.capacity"), HintOf: "tracein.capacity.hint", Like: []unit.Force{100e3}},
		entry{Name: "start", Label: text("tracein.start"), Hint: text("tracein.start.hint")},
		entry{Name: "force-unit", Label: text("tracein.unit"), Choices: units},
		entry{Name: "decimal", Label: text("tracein.decimal"), Choices: []option{{Label: text("tracein.decimal.point")}, {Value: "comma", Label: text("tracein.decimal.comma")}}},
		entry{Name: "who", Label: text("files.who"), Hint: text("files.who.hint")},
		entry{Name: "file", Label: text("tracein.file"), Hint: text("tracein.file.hint"), Kind: "file", Takes: ".csv,.txt,.gz,.zst,text/csv"}, // the last: see fileForm
	)
	return s.showAs(w, r, formStatus(f, false), "tracein", text("tracein.title"), v)
}

// bringTrace brings a trace in: all of it, or nothing.
func (s *server) bringTrace(w http.ResponseWriter, r *http.Request) error {
	file, f := fileOf(r), newSheet(r.PostForm)
	_ = http.NewResponseController(w).SetWriteDeadline(time.Time{}) // what comes is read and worked on first
	again := func() error {
		_, _ = io.CopyN(io.Discard, file, sayNoTrace)
		return s.traceInPage(w, r, f, nil)
	}
	if busy := s.recordedNow(); busy != "" {
		_, _ = io.CopyN(io.Discard, file, sayNoTrace)
		return refuse(http.StatusConflict, text("tracein.recording", busy))
	}
	a := s.traceAsked(f)
	if file.Name == "" {
		f.refuse("file", text("tracein.nofile"))
	}
	if !f.good() {
		return again()
	}
	brought, err := s.keepTrace(s.signed(w, r, "who"), file, a)
	if err != nil {
		if err := traceWrong(f, err); err != nil {
			_, _ = io.CopyN(io.Discard, file, sayNoTrace)
			return err
		}
		return again()
	}
	s.Log.Info("a trace was brought in", "who", visitorOf(r.Context()).Name, "cell", brought.Cell.Name)
	return s.traceInPage(w, r, newSheet(nil), s.traceTold(brought))
}

// recordedNow is the cell of which readings come just now; bringing a trace in
// would have them wait for the disk.
func (s *server) recordedNow() string {
	if s.Recorder == nil {
		return ""
	}
	for _, st := range s.Recorder.Statuses() {
		if st.Up && !st.Silent {
			return st.Name
		}
	}
	return ""
}

// traceAsked reads the form but for its file.
func (s *server) traceAsked(f *sheet) intake.Ask {
	a := intake.Ask{Cell: f.text("cell"), Columns: tracefile.Options{DecimalComma: f.text("decimal") == "comma"}}
	if a.Cell == "" {
		f.refuse("cell", text("tracein.nocell"))
	}
	a.Capacity, _ = quantity(f, "capacity", text("tracein.force"), unit.ParseForce, above)
	if u := f.text("force-unit"); u != "" {
		var err error
		if a.Columns.Unit, err = unit.ParseForceUnit(u); err != nil {
			f.refuse("force-unit", sentence(err.Error()))
		}
	}
	if typed := f.text("start"); typed != "" {
		at, err := unit.ParseMoment(typed, s.Zone)
		if err != nil {
			f.refuse("start", sentence(err.Error()))
		}
		a.Start = &at
	}
	return a
}

// keepTrace keeps the file beside the store while it is looked through, as it is
// read more than once. It does not fill the disk that is recorded to.
func (s *server) keepTrace(ctx context.Context, file *fileIn, a intake.Ask) (intake.Brought, error) {
	dir := s.Store.Dir()
	t, err := intake.OpenStream(ctx, store.Leaving(file, dir, text("store.room.do")), file.Name, dir, a)
	if err != nil {
		return intake.Brought{}, err
	}
	in, err := t.Keep(ctx, s.Store)
	return in, errors.Join(err, t.Close())
}

// traceWrong says beside which field what is wrong with a trace. An error that
// is nobody's mistake is given back.
func traceWrong(f *sheet, err error) error {
	fault, inFile := errors.AsType[*tracefile.Error](err)
	_, big := errors.AsType[*http.MaxBytesError](err)
	switch {
	case errors.Is(err, intake.ErrNoStart):
		f.refuse("start", text("tracein.wants"))
	case errors.Is(err, intake.ErrDates):
		f.refuse("start", text("tracein.dates"))
	case errors.Is(err, intake.ErrCapacity):
		f.refuse("capacity", text("tracein.known", err))
	case errors.Is(err, tracefile.ErrComma):
		f.refuse("decimal", text("tracein.iscomma", fault.Line))
	case errors.Is(err, tracefile.ErrPoint):
		f.refuse("decimal", text("tracein.ispoint", fault.Line))
	case errors.Is(err, tracefile.ErrNoUnit):
		f.refuse("force-unit", text("tracein.nounit", fault.Line, fault.Problem))
	case inFile:
		f.refuse("file", text("tracein.line", fault.Line, fault.Problem, fault.Remedy))
	case big:
		return refuse(http.StatusRequestEntityTooLarge, text("tracein.big", int64(maxTrace)>>30))
	case errors.Is(err, store.ErrRoom):
		return refuse(http.StatusInsufficientStorage, sentence(err.Error()))
	case errors.Is(err, context.Canceled):
		return err
	default:
		f.refuse("file", sentence(err.Error()))
	}
	return nil
}

func (s *server) traceTold(b intake.Brought) *traceBrought {
	day := s.dateOf(b.First)
	return &traceBrought{
		Says: text("tracein.says", count("tracein.readings", b.Readings), b.Cell.Name, s.at(b.First)), Found: count("tracein.pulls", b.Pulls),
		Day: "/days/" + day, Pulls: "/pulls?date=" + day, Trace: "/days/" + day + "/trace", Cell: b.Cell.Name,
	}
}
