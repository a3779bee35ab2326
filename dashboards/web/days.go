package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"tautlog/analysis/rating"
	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/ingest/store"
)

// sheetShows is how many pulls a day sheet tells; the others are in the list.
const sheetShows = 100

// daysView is the list of test days, with the form that starts one.
type daysView struct {
	Days  []store.Day
	Today string
	Open  bool // there is a test day of today
	Place string
	Token string

	Sample sampleOffer
}

// sheetView is a day sheet.
type sheetView struct {
	Date, Told string
	Days       []store.Day // those that were held on that date
	Place      string
	Ready      []readyLine
	Missing    int   // of Ready, not yet ticked
	OfToday    int64 // the day whose list can be ticked; 0: none
	Version    int64
	Pulls      []result
	More       int
	Highest    string
	Over       []overItem
	Read       bool        // a cell read anything on that day
	Aside      []asidePart // that were taken for pulls and are set aside
	Token      string
}

// cautioned: the cautions stand above the pulls.
func (sheetView) cautioned() {}

// readyLine is a line of the list to go through before the first pull.
type readyLine struct {
	Key, Says string
	Done      bool
}

// overItem is an item that is not inside its rating after a pull of the day.
type overItem struct {
	verdict
	Pull int64
	When string
}

// readyKeys are the lines of the list, in the order to go through them; what
// each says is in the texts. The cautions of the trade: common practice.
var readyKeys = []string{"area", "people", "signals", "points", "gear", "damper", "cell"}

func (s *server) dayRoutes() []route {
	return []route{
		reads("GET /days", s.days),
		writes("POST /days", s.startDay),
		reads("GET /days/{date}", s.daySheet),
		writes("POST /days/{date}/ready", s.tickReady),
		reads("GET /days/{date}/trace", s.dayTrace),
		writes("POST /days/{date}/trace", s.addPull),
		reads("GET /days/{date}/added", s.triedAdding),
		reads("GET /days/{date}/{file}", s.dayFile),
		reads("GET /pulls/{id}/{file}", s.pullFile),
	}
}

func (s *server) days(w http.ResponseWriter, r *http.Request) error {
	days, err := s.Store.Days(r.Context())
	if err != nil {
		return err
	}
	v := daysView{Days: days, Today: string(s.today()), Token: s.tokenIn(r.Context())}
	if len(days) > 0 {
		v.Place, v.Open = days[0].Place, days[0].Date == v.Today
	}
	if v.Sample, err = s.offerSample(r); err != nil {
		return err
	}
	return s.show(w, r, "days", text("days.title"), v)
}

// startDay enters a test day of today and puts it in force for every cell.
func (s *server) startDay(w http.ResponseWriter, r *http.Request) error {
	field := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	d := store.Day{Date: string(s.today()), Name: field("name"), Place: field("place"), Ground: field("ground")}
	if d.Name == "" {
		return refuse(http.StatusBadRequest, text("refused.dayname"))
	}
	d, err := s.Store.SaveDay(r.Context(), d)
	if err != nil {
		return err
	}
	cells, err := s.Store.Cells(r.Context())
	if err != nil {
		return err
	}
	for _, c := range cells {
		setup, err := s.Store.Setup(r.Context(), c.ID)
		if ignoreMissing(err) != nil {
			return err
		}
		setup.Cell, setup.Day = c.ID, d.ID
		if d.Ground != "" {
			setup.Ground = d.Ground
		}
		if _, err := s.Store.SetSetup(r.Context(), setup); err != nil {
			return err
		}
	}
	http.Redirect(w, r, "/days/"+d.Date, http.StatusSeeOther)
	return nil
}

func (s *server) daySheet(w http.ResponseWriter, r *http.Request) error {
	date := r.PathValue("date")
	at, err := s.dateAsked(r)
	if err != nil {
		return err
	}
	v := sheetView{Date: date, Told: words.Weekday(at), Token: s.tokenIn(r.Context())}
	if v.Days, err = s.daysOn(r, date); err != nil {
		return err
	}
	v.prepare(date == string(s.today()))
	pulls, err := s.Store.PullsOn(r.Context(), date, s.Zone)
	if err != nil {
		return err
	}
	if v.Aside, err = s.asideOn(r.Context(), at); err != nil {
		return err
	}
	if len(pulls) == 0 && len(v.Days) == 0 && len(v.Aside) == 0 {
		return refuse(http.StatusNotFound, text("refused.noday", date))
	}
	if err := s.tellDay(r, &v, pulls); err != nil {
		return err
	}
	if v.Read, err = s.readOn(r, at); err != nil {
		return err
	}
	return s.show(w, r, "day", v.Told, v)
}

// readOn tells whether any cell has readings of the day that begins at a time.
func (s *server) readOn(r *http.Request, at time.Time) (bool, error) {
	cells, err := s.Store.Cells(r.Context())
	for _, c := range cells {
		n, _, err := s.Store.Count(r.Context(), c.ID, at.UnixNano(), at.AddDate(0, 0, 1).UnixNano())
		if err != nil || n > 0 {
			return n > 0, err
		}
	}
	return false, err
}

// daysOn gives the test days that were held on a date.
func (s *server) daysOn(r *http.Request, date string) ([]store.Day, error) {
	days, err := s.Store.Days(r.Context())
	return slices.DeleteFunc(days, func(d store.Day) bool { return d.Date != date }), err
}

// prepare fills in the list to go through; it is ticked on the day itself.
func (v *sheetView) prepare(today bool) {
	if len(v.Days) == 0 {
		return
	}
	d := v.Days[0]
	v.Place = d.Place
	for _, k := range readyKeys {
		l := readyLine{Key: k, Says: text("ready." + k), Done: slices.Contains(d.Ready, k)}
		if !l.Done {
			v.Missing++
		}
		v.Ready = append(v.Ready, l)
	}
	if today {
		v.OfToday, v.Version = d.ID, d.Version
	}
}

// tellDay tells the pulls of a day and what is not inside its rating after
// them.
func (s *server) tellDay(r *http.Request, v *sheetView, pulls []store.Pull) error {
	cells, err := s.Store.Cells(r.Context())
	if err != nil {
		return err
	}
	if len(pulls) > sheetShows {
		v.More, pulls = len(pulls)-sheetShows, pulls[:sheetShows]
	}
	u, highest := chosen(r).Unit, unit.Force(0)
	column := peakColumnOf(pulls, u)
	for _, p := range pulls {
		told, err := s.result(r.Context(), p, cellName(cells, p.Cell), u)
		if err != nil {
			return err
		}
		told.Listed = column.show(p, u)
		v.Pulls = append(v.Pulls, told)
		if p.Found.Peak > highest {
			highest, v.Highest = p.Found.Peak, told.Peak+" "+told.Interval
		}
		v.over(told)
	}
	return s.adviseDay(r.Context(), v.Over)
}

// adviseDay adds to items what to do about them next.
func (s *server) adviseDay(ctx context.Context, over []overItem) error {
	for i, o := range over {
		one := []verdict{o.verdict}
		if err := s.advise(ctx, o.Pull, one); err != nil {
			return err
		}
		over[i].verdict = one[0]
	}
	return nil
}

// over notes the items of a pull that are over a limit, the latest pull of
// each.
func (v *sheetView) over(told result) {
	for _, item := range told.Verdicts {
		known := slices.ContainsFunc(v.Over, func(o overItem) bool { return o.Name == item.Name && o.Verdict == item.Verdict })
		if item.Verdict.Worse(rating.NotJudged) && !known {
			v.Over = append(v.Over, overItem{item, told.ID, told.When})
		}
	}
}

// tickReady keeps which lines of the list were gone through. Two who tick at
// once both count: what this form changed is changed in what is there now.
func (s *server) tickReady(w http.ResponseWriter, r *http.Request) error {
	id, err := number(r.PostForm.Get("day"), text("number.day"))
	if err != nil {
		return err
	}
	version, err := versionOf(r)
	if err != nil {
		return err
	}
	for range mostTries {
		d, err := s.Store.Day(r.Context(), id)
		if err != nil {
			return err
		}
		if d.Date != r.PathValue("date") {
			return notHere()
		}
		shown := d
		if d.Version != version {
			if shown, err = s.Store.DayAt(r.Context(), id, version); err != nil {
				return err
			}
		}
		d.Ready = ticked(shown.Ready, d.Ready, r.PostForm["ready"])
		if _, err = s.Store.SaveDay(r.Context(), d); errors.Is(err, store.ErrConflict) {
			continue
		}
		if err != nil {
			return err
		}
		http.Redirect(w, r, "/days/"+d.Date+"#ready", http.StatusSeeOther)
		return nil
	}
	return store.ErrConflict
}

// ticked are the lines that are ticked now, with those that a form changed since
// it was shown as the form has them.
func ticked(shown, now, form []string) (out []string) {
	for _, k := range readyKeys {
		in := now
		if slices.Contains(shown, k) != slices.Contains(form, k) {
			in = form
		}
		if slices.Contains(in, k) {
			out = append(out, k)
		}
	}
	return out
}
