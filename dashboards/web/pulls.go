package web

import (
	"net/http"
	"net/url"
	"strconv"
	"time"

	"tautlog/analysis/pull"
	"tautlog/calc/words"
	"tautlog/ingest/store"
)

// listed is how many pulls a page of the list shows.
const listed = 50

// pullsView is the list of pulls.
type pullsView struct {
	Days    []dayOfPulls
	Cells   []store.Cell
	Cell    string
	Kind    string
	Kinds   []option
	Date    string
	Of      *pullsOf // what they are the pulls of; nil: of everything
	More    bool
	Earlier string // address of the next page
}

// pullsOf is the item or vehicle that a list of pulls is of.
type pullsOf struct{ What, ID, Name, Page string }

// dayOfPulls is the pulls of one day, under its date.
type dayOfPulls struct {
	Date  string
	Sheet string // the date in the address of its day sheet
	Pulls []result
}

// pulls lists what was pulled, the latest first.
func (s *server) pulls(w http.ResponseWriter, r *http.Request) error {
	cells, err := s.Store.Cells(r.Context())
	if err != nil {
		return err
	}
	q := r.URL.Query()
	v := pullsView{Cells: cells, Cell: q.Get("cell"), Kind: q.Get("kind"), Kinds: kindChoices(), Date: q.Get("date")}
	ps, err := s.filtered(r, cells, listed+1)
	if err != nil {
		return err
	}
	if v.Of, err = s.pullsOf(r); err != nil {
		return err
	}
	if len(ps) > listed {
		v.More, ps = true, ps[:listed]
		q.Set("before", strconv.FormatInt(ps[listed-1].ID, 10))
		v.Earlier = "/pulls?" + q.Encode()
	}
	u := chosen(r).Unit
	column := peakColumnOf(ps, u)
	for _, p := range ps {
		told, err := s.result(r.Context(), p, cellName(cells, p.Cell), u)
		if err != nil {
			return err
		}
		told.Listed = column.show(p, u)
		if n := len(v.Days); n == 0 || v.Days[n-1].Date != told.Day {
			v.Days = append(v.Days, dayOfPulls{Date: told.Day, Sheet: s.dateOf(p.Found.Start)})
		}
		d := &v.Days[len(v.Days)-1]
		d.Pulls = append(d.Pulls, told)
	}
	return s.show(w, r, "pulls", text("pulls.title"), v)
}

// filtered gives the pulls that the address asks for, at most limit of them.
func (s *server) filtered(r *http.Request, cells []store.Cell, limit int) ([]store.Pull, error) {
	q := r.URL.Query()
	f, err := s.filter(q, cells)
	if err != nil {
		return nil, err
	}
	if f.Kind = pull.Kind(q.Get("kind")); f.Kind != "" && !knownKind(f.Kind) {
		return nil, refuse(http.StatusBadRequest, text("refused.kind", f.Kind))
	}
	f.Limit = limit
	return s.Store.Pulls(r.Context(), f)
}

// pullsOf names what a list of pulls is asked of.
func (s *server) pullsOf(r *http.Request) (*pullsOf, error) {
	q := r.URL.Query()
	if id := q.Get("item"); id != "" {
		n, err := number(id, text("page.pulls.an-item"))
		if err != nil {
			return nil, err
		}
		d, err := s.Store.Item(r.Context(), n)
		return &pullsOf{"item", id, d.Value.Name, pathOf("gear", n)}, err
	}
	if id := q.Get("vehicle"); id != "" {
		n, err := number(id, text("page.pulls.a-vehicle"))
		if err != nil {
			return nil, err
		}
		d, err := s.Store.Vehicle(r.Context(), n)
		return &pullsOf{"vehicle", id, d.Value.Name, pathOf("vehicles", n)}, err
	}
	return nil, nil
}

func (s *server) filter(q url.Values, cells []store.Cell) (store.PullFilter, error) {
	var f store.PullFilter
	if name := q.Get("cell"); name != "" {
		c, err := pick(cells, name)
		if err != nil {
			return f, err
		}
		f.Cell = c.ID
	}
	if d := q.Get("date"); d != "" {
		day, err := time.ParseInLocation(time.DateOnly, d, s.Zone)
		if err != nil {
			return f, refuse(http.StatusBadRequest, text("refused.date", d))
		}
		f.From, f.To = day.UnixNano(), day.AddDate(0, 0, 1).UnixNano()
	}
	for name, into := range map[string]*int64{"before": &f.Before, "item": &f.Item, "vehicle": &f.Vehicle} {
		if b := q.Get(name); b != "" {
			id, err := number(b, name)
			if err != nil {
				return f, err
			}
			*into = id
		}
	}
	return f, nil
}

func kinds() []pull.Kind { return []pull.Kind{pull.Kinetic, pull.Steady, pull.Proof} }

// kindName is a kind within a sentence.
func kindName(k pull.Kind) string {
	if name := "kind.name." + string(k); words.Known(name) {
		return text(name)
	}
	return string(k)
}

// kindChoices are the kinds to choose from.
func kindChoices() (out []option) {
	for _, k := range kinds() {
		out = append(out, option{Value: string(k), Label: kindName(k)})
	}
	return out
}

func knownKind(k pull.Kind) bool {
	for _, known := range kinds() {
		if k == known {
			return true
		}
	}
	return false
}

func cellName(cells []store.Cell, id int64) string {
	for _, c := range cells {
		if c.ID == id {
			return c.Name
		}
	}
	return ""
}

func urlEscape(s string) string { return url.QueryEscape(s) }

// ignoreMissing is err, unless it only says that there is nothing yet.
func ignoreMissing(err error) error {
	if errorsIsNotFound(err) {
		return nil
	}
	return err
}
