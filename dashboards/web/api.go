package web

import (
	"encoding/json"
	"net/http"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/rig"
	"tautlog/ingest/logfile"
	"tautlog/ingest/store"
)

func writeJSON(w http.ResponseWriter, status int, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		panic("web: an answer that is no JSON: " + err.Error())
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_, _ = w.Write(b) // the asker may have gone
}

// pullJSON is a pull on the interface.
type pullJSON struct {
	ID      int64           `json:"id"`
	Cell    string          `json:"cell"`
	Start   int64           `json:"start_ns"`
	End     int64           `json:"end_ns"`
	Settled bool            `json:"settled"`
	Kind    pull.Kind       `json:"kind"`
	Ground  string          `json:"ground"`
	Notes   string          `json:"notes"`
	Speed   *float64        `json:"speed_mps"` // as said; null: not known
	Slack   *float64        `json:"slack_m"`
	Depth   string          `json:"depth"`
	Attempt int             `json:"attempt"`
	Found   pull.Record     `json:"found"`           // times count from start_ns
	Limits  *logfile.Limits `json:"limits"`          // set by a person; null: it starts and ends as found
	Aside   *asideJSON      `json:"aside,omitempty"` // a person took it for no pull: it counts nowhere
	Rig     *rig.Rig        `json:"rig,omitempty"`
	Items   []itemJSON      `json:"items,omitempty"`
	Beside  *int64          `json:"beside,omitempty"` // the same pull at the rig's other cell
}

// asideJSON says who set a pull aside.
type asideJSON struct {
	By string `json:"by"`
	At int64  `json:"at_ns"`
	Of int64  `json:"part_of,omitempty"` // the pull that it is part of
}

// itemJSON is the verdict on one item on the interface.
type itemJSON struct {
	Ref         string         `json:"ref"`
	Name        string         `json:"name"`
	Where       string         `json:"where"`
	Share       string         `json:"share"`
	Carried     float64        `json:"carried_N"`
	Low         float64        `json:"carried_low_N"`
	High        float64        `json:"carried_high_N"`
	Limit       *float64       `json:"limit_N"`
	Basis       string         `json:"limit_basis,omitempty"`
	Utilisation *float64       `json:"utilisation"`
	Verdict     rating.Verdict `json:"verdict"`
	AtHigh      rating.Verdict `json:"verdict_at_high"`
	Reason      string         `json:"reason"`
}

func asJSON(p store.Pull, cell string) pullJSON {
	var aside *asideJSON
	if a := p.Aside; a != nil {
		aside = &asideJSON{a.Who, a.At, a.Of}
	}
	return pullJSON{
		Aside: aside,
		ID:    p.ID, Cell: cell, Start: p.Found.Start, End: p.Found.End, Settled: p.Settled,
		Kind: p.Kind, Ground: p.Ground, Notes: p.Notes, Speed: (*float64)(p.Speed), Slack: (*float64)(p.Slack), Depth: p.Depth, Attempt: p.Attempt,
		Found: p.Found.Record(p.Found.Start), Limits: logfile.LimitsOf(p),
	}
}

func itemsJSON(vs []verdict) []itemJSON {
	var out []itemJSON
	for _, it := range vs {
		j := itemJSON{
			Ref: it.Ref, Name: it.Name, Where: it.Where, Share: it.Share.Formula,
			Carried: float64(it.Carried), Low: float64(it.Low), High: float64(it.High),
			Utilisation: it.Utilisation, Verdict: it.Verdict, AtHigh: it.AtHigh, Reason: it.Reason,
		}
		if it.Limit != nil {
			v := float64(it.Limit.Value)
			j.Limit, j.Basis = &v, it.Limit.Text
		}
		out = append(out, j)
	}
	return out
}

func (s *server) apiPulls(w http.ResponseWriter, r *http.Request) error {
	cells, err := s.Store.Cells(r.Context())
	if err != nil {
		return err
	}
	limit := int64(100)
	if l := r.URL.Query().Get("limit"); l != "" {
		if limit, err = number(l, "limit"); err != nil {
			return err
		}
	}
	ps, err := s.filtered(r, cells, int(min(max(limit, 1), 1000)))
	if err != nil {
		return err
	}
	out := make([]pullJSON, len(ps))
	for i, p := range ps {
		out[i] = asJSON(p, cellName(cells, p.Cell))
	}
	writeJSON(w, http.StatusOK, map[string]any{"pulls": out})
	return nil
}

func (s *server) apiPull(w http.ResponseWriter, r *http.Request) error {
	p, c, told, err := s.pullTold(r)
	if err != nil {
		return err
	}
	out := asJSON(p, c.Name)
	out.Rig, out.Items = p.Rig, itemsJSON(told.Verdicts)
	if told.Beside != nil {
		out.Beside = &told.Beside.ID
	}
	writeJSON(w, http.StatusOK, out)
	return nil
}

// apiTrace outlines any stretch of a cell; the last seconds have the zero
// taken off that the live line has.
func (s *server) apiTrace(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellAsked(r)
	if err != nil {
		return err
	}
	from, to := int64(0), int64(0)
	zero := 0.0
	if sec := r.URL.Query().Get("seconds"); sec != "" {
		n, err := number(sec, "seconds")
		if err != nil {
			return err
		}
		to = s.Now().UnixNano() + int64(time.Second)
		from = to - min(max(n, 1), 24*3600)*int64(time.Second)
		if s.Watcher != nil {
			zero = float64(s.Watcher.State(c.ID).Baseline)
		}
	}
	if from, to, err = window(r, from, to); err != nil {
		return err
	}
	cols, err := s.outline(r, c, from, to)
	if err != nil {
		return err
	}
	cols.shift(-zero)
	writeJSON(w, http.StatusOK, cols)
	return nil
}

// columnsAsked is how many columns a request wants a trace drawn in.
func columnsAsked(r *http.Request) (int, error) {
	asked := r.URL.Query().Get("columns")
	if asked == "" {
		return 1000, nil
	}
	n, err := number(asked, "columns")
	return int(min(max(n, 1), 10000)), err
}

func (s *server) outline(r *http.Request, c store.Cell, from, to int64) (columns, error) {
	n, err := columnsAsked(r)
	if err != nil {
		return columns{}, err
	}
	cols, err := s.Store.Outline(r.Context(), c.ID, from, to, n)
	if err != nil {
		return columns{}, err
	}
	h, err := s.Store.History(r.Context(), c)
	if err != nil {
		return columns{}, err
	}
	out := outlined(cols, h, from, to, c.Rate)
	out.Wide = float64(to-from) / float64(n) / 1e6
	return out, nil
}
