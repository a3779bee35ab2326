package web

import (
	"context"
	"html/template"
	"net/http"
	"net/netip"
	"net/url"
	"strings"

	"tautlog/calc/gear"
	"tautlog/dashboards/label"
	"tautlog/ingest/store"
)

// mostLabels is how many labels one page makes: some eight sheets.
const mostLabels = 200

// labelsView is the sheet of labels, and the form that chooses them.
type labelsView struct {
	Text    string
	Kind    string
	Kinds   []gear.Kind
	Address entry
	Own     bool // only this machine itself would find that address
	Items   []labelView
	Chosen  int
	Next    string
}

// labelView is an item to choose, with its label where it was chosen.
type labelView struct {
	itemView
	Chosen bool
	Code   template.HTML
	Path   string
}

// labels makes labels to print. It is asked for with GET, so that a sheet can
// be printed again by its address.
func (s *server) labels(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	v := labelsView{Text: q.Get("text"), Kind: q.Get("kind"), Kinds: gear.Kinds()}
	if v.Kind != "" && !gear.Kind(v.Kind).Known() {
		return refuse(http.StatusBadRequest, text("refused.gearkind", v.Kind))
	}
	f := newSheet(q)
	f.fill(map[string]string{"address": "http://" + r.Host})
	base := labelBase(f)
	v.Own = onlyHere(base)
	v.Address = f.set(entry{Name: "address", Label: text("page.labels.address"), Hint: text("page.labels.address.hint"), Long: true})[0]
	docs, err := s.labelled(r.Context(), &v, q)
	if err != nil {
		return err
	}
	for _, d := range docs {
		one := labelView{itemView: itemView{Item: d.Value, Ref: d.ID, Rated: rated(d.Value, chosen(r).Unit)}, Path: pathOf("gear", d.ID), Chosen: q.Has("item")}
		if one.Chosen && base != "" {
			if one.Code, err = label.QR(base + one.Path); err != nil {
				f.refuse("address", text("field.address", base))
				v.Address.Wrong = f.wrong["address"]
				one.Chosen = false
			}
		}
		if one.Chosen = one.Code != ""; one.Chosen {
			v.Chosen++
		}
		v.Items = append(v.Items, one)
	}
	return s.show(w, r, "labels", text("labels.title"), v)
}

// labelled gives the items that were chosen, or those to choose from.
func (s *server) labelled(ctx context.Context, v *labelsView, q url.Values) ([]store.Document[gear.Item], error) {
	if !q.Has("item") {
		docs, err := s.Store.FindItems(ctx, store.Find{Text: v.Text, Kind: gear.Kind(v.Kind), After: q.Get("after"), Limit: listed + 1, Retired: gear.No})
		if len(docs) > listed {
			docs = docs[:listed]
			v.Next = nextPage("/gear/labels", q, docs[listed-1].Value.Key())
		}
		return docs, err
	}
	if len(q["item"]) > mostLabels {
		return nil, refuse(http.StatusBadRequest, text("refused.labels", mostLabels))
	}
	var out []store.Document[gear.Item]
	for _, t := range q["item"] {
		id, err := number(t, text("page.labels.an-item"))
		if err != nil {
			return nil, err
		}
		d, err := s.Store.Item(ctx, id)
		if err != nil {
			return nil, err
		}
		out = append(out, d)
	}
	return out, nil
}

// labelBase reads the address that goes before each path; empty where it is
// refused.
func labelBase(f *sheet) string {
	base := strings.TrimRight(f.text("address"), "/")
	u, err := url.Parse(base)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" || u.Path != "" || u.RawQuery != "" || u.Fragment != "" || u.User != nil || len(base) > 200 {
		f.refuse("address", text("field.address", base))
		return ""
	}
	return base
}

// onlyHere says that an address means whatever machine it is asked on.
func onlyHere(base string) bool {
	u, err := url.Parse(base)
	if err != nil {
		return false
	}
	host := u.Hostname()
	if host == "localhost" {
		return true
	}
	addr, err := netip.ParseAddr(strings.Trim(host, "[]"))
	return err == nil && addr.IsLoopback()
}
