package web

import (
	"net/http"
	"strconv"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// vehicleRoutes are the pages of vehicles.
func (s *server) vehicleRoutes() []route {
	return []route{
		reads("GET /vehicles", s.vehicles),
		reads("GET /vehicles/new", s.newVehicle).toOperators(),
		writes("POST /vehicles/new", s.saveNewVehicle),
		reads("GET /vehicles/{id}", s.vehicle),
		reads("GET /vehicles/{id}/edit", s.editVehicle).toOperators(),
		writes("POST /vehicles/{id}/edit", s.saveVehicle),
		writes("POST /vehicles/{id}/remove", s.remove),
		writes("POST /vehicles/{id}/undo", s.undo),
	}
}

// vehiclesView is the list of vehicles.
type vehiclesView struct {
	Text     string
	Removed  bool
	Vehicles []vehicleView
	Next     string
}

// vehicleView is a vehicle in the list.
type vehicleView struct {
	Ref               int64
	Name, Mass, Notes string
}

func (s *server) vehicles(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	v := vehiclesView{Text: q.Get("text"), Removed: q.Get("show") == "removed"}
	docs, err := s.Store.FindVehicles(r.Context(), store.Find{Text: v.Text, After: q.Get("after"), Limit: listed + 1, Removed: v.Removed})
	if err != nil {
		return err
	}
	if len(docs) > listed {
		docs = docs[:listed]
		v.Next = nextPage("/vehicles", q, docs[listed-1].Value.Name)
	}
	for _, d := range docs {
		v.Vehicles = append(v.Vehicles, vehicleView{d.ID, d.Value.Name, massWords(d.Value), d.Value.Notes})
	}
	return s.show(w, r, "vehicles", text("vehicles.title"), v)
}

// massWords says how heavy a vehicle is, in short.
func massWords(v gear.Vehicle) string {
	say := text("vehicles.nogvm")
	if v.GVM != nil {
		say = text("vehicles.gvm", *v.GVM)
	}
	if v.Weighed != nil {
		say = text("vehicles.weighed", say, *v.Weighed)
	}
	return say
}

// vehiclePage is the page of one vehicle.
type vehiclePage struct {
	Ref     int64
	Vehicle gear.Vehicle
	Facts   []fact
	Points  []itemView
	Journal journalView
}

func (s *server) vehicleAsked(r *http.Request) (store.Document[gear.Vehicle], error) {
	id, err := number(r.PathValue("id"), text("page.vehicles.a-vehicle"))
	if err != nil {
		return store.Document[gear.Vehicle]{}, err
	}
	return s.Store.Vehicle(r.Context(), id)
}

func (s *server) vehicle(w http.ResponseWriter, r *http.Request) error {
	d, err := s.vehicleAsked(r)
	if err != nil {
		return err
	}
	v := vehiclePage{Ref: d.ID, Vehicle: d.Value, Facts: vehicleFacts(d.Value)}
	if v.Points, err = s.pointsOf(r, d.Value); err != nil {
		return err
	}
	if v.Journal, err = s.journalOf(r, "vehicle", pathOf("vehicles", d.ID), d.ID, d.Version); err != nil {
		return err
	}
	if !d.Removed.IsZero() {
		v.Journal.Removed = s.at(d.Removed.UnixNano())
	}
	return s.show(w, r, "vehicle", d.Value.Name, v)
}

// vehicleFacts is what is recorded of a vehicle; what is not is said so.
func vehicleFacts(v gear.Vehicle) []fact {
	return []fact{
		{text("page.vehicles.gross-vehicle-mass"), shownOr(v.GVM)}, {text("page.vehicles.kerb-mass"), shownOr(v.Kerb)},
		{text("page.vehicles.weighed-mass"), shownOr(v.Weighed)}, {text("page.vehicles.mass-within"), shownOr(v.WeighedWithin)},
		{text("page.vehicles.wheelbase"), shownOr(v.Wheelbase)}, {text("page.vehicles.wheels-turn"), shownOr(v.FullTurn)},
	}
}

func shownOr[T interface {
	~float64
	String() string
}](v *T) string {
	if v == nil {
		return text("undo.unknown")
	}
	return (*v).String()
}

// pointsOf lists what is fixed to a vehicle.
func (s *server) pointsOf(r *http.Request, v gear.Vehicle) ([]itemView, error) {
	seen, fixed := map[int64]bool{}, []store.Document[gear.Item]{}
	for _, name := range []string{v.ID, v.Name} {
		if name == "" {
			continue
		}
		docs, err := s.Store.FindItems(r.Context(), store.Find{Text: name})
		if err != nil {
			return nil, err
		}
		for _, d := range docs {
			if d.Value.Vehicle == name && !seen[d.ID] {
				seen[d.ID] = true
				fixed = append(fixed, d)
			}
		}
	}
	return s.itemViews(r.Context(), fixed, nil, chosen(r).Unit)
}

// vehicleForm lists the fields of a vehicle.
func vehicleForm(f *sheet) []group {
	return []group{{Title: text("page.vehicles.what-it-is"), Fields: f.set(
		entry{Name: "name", Label: text("page.vehicles.name"), Hint: text("page.vehicles.name.hint")},
		entry{Name: "id", Label: text("page.vehicles.id")},
		entry{Name: "gvm", Label: text("page.vehicles.gvm"), Hint: text("page.vehicles.gvm.hint")},
		entry{Name: "kerb", Label: text("page.vehicles.kerb"), Hint: text("page.vehicles.kerb.hint")},
		entry{Name: "weighed", Label: text("page.vehicles.weighed"), Hint: text("page.vehicles.weighed.hint")},
		entry{Name: "weighed-within", Label: text("page.vehicles.weighed-within"), Hint: text("page.vehicles.weighed-within.hint")},
		entry{Name: "wheelbase", Label: text("page.vehicles.wheelbase"), Hint: text("page.vehicles.wheelbase.hint")},
		entry{Name: "full-turn", Label: text("page.vehicles.full-turn"), Hint: text("page.vehicles.full-turn.hint")},
		entry{Name: "notes", Label: text("page.vehicles.notes"), Area: true},
	)}}
}

func vehicleTyped(v gear.Vehicle) map[string]string {
	out := map[string]string{
		"name": v.Name, "id": v.ID, "gvm": typedOf(v.GVM, "kg", 1), "weighed": typedOf(v.Weighed, "kg", 1),
		"kerb": typedOf(v.Kerb, "kg", 1), "weighed-within": typedOf(v.WeighedWithin, "kg", 1),
		"wheelbase": typedOf(v.Wheelbase, "m", 1), "notes": v.Notes,
	}
	if v.FullTurn != nil {
		out["full-turn"] = strconv.FormatFloat(v.FullTurn.Degrees(), 'g', 6, 64) + "deg"
	}
	return out
}

// readVehicle reads the form over the vehicle as it was.
func readVehicle(f *sheet, was gear.Vehicle) gear.Vehicle {
	v, shown := was, vehicleTyped(was)
	v.Name, v.ID, v.Notes = f.typed("name"), f.typed("id"), f.typed("notes")
	v.GVM = known(f, shown, "gvm", "mass", unit.ParseMass, above, was.GVM)
	v.Kerb = known(f, shown, "kerb", "mass", unit.ParseMass, above, was.Kerb)
	v.WeighedWithin = known(f, shown, "weighed-within", "mass", unit.ParseMass, above, was.WeighedWithin)
	v.Weighed = known(f, shown, "weighed", "mass", unit.ParseMass, above, was.Weighed)
	v.Wheelbase = known(f, shown, "wheelbase", "length", unit.ParseLength, above, was.Wheelbase)
	v.FullTurn = known(f, shown, "full-turn", "angle", unit.ParseAngle, above, was.FullTurn)
	f.refuseOf(v.Check(), func(path string) string {
		return strings.ReplaceAll(path, "_", "-")
	})
	return v
}

func (s *server) newVehicle(w http.ResponseWriter, r *http.Request) error {
	return s.vehicleFormPage(w, r, store.Document[gear.Vehicle]{}, newSheet(nil), nil)
}

func (s *server) editVehicle(w http.ResponseWriter, r *http.Request) error {
	d, err := s.vehicleAsked(r)
	if err != nil {
		return err
	}
	f := newSheet(nil)
	f.fill(vehicleTyped(d.Value))
	return s.vehicleFormPage(w, r, d, f, nil)
}

func (s *server) vehicleFormPage(w http.ResponseWriter, r *http.Request, d store.Document[gear.Vehicle], f *sheet, st *stale) error {
	groups := vehicleForm(f)
	v := formPage{Title: text("form.newvehicle"), Action: "/vehicles/new", Back: "/vehicles", Version: d.Version, Groups: groups, Wrongs: f.wrongs(groups), Stale: st, Token: s.tokenIn(r.Context())}
	if d.ID != 0 {
		v.Title, v.Back = text("form.edit", d.Value.Name), pathOf("vehicles", d.ID)
		v.Action = v.Back + "/edit"
	}
	return s.showForm(w, r, v, f)
}

func (s *server) saveNewVehicle(w http.ResponseWriter, r *http.Request) error {
	return s.keepVehicle(w, r, 0)
}

func (s *server) saveVehicle(w http.ResponseWriter, r *http.Request) error {
	d, err := s.vehicleAsked(r)
	if err != nil {
		return err
	}
	return s.keepVehicle(w, r, d.ID)
}

// keepVehicle keeps a vehicle as it was typed.
func (s *server) keepVehicle(w http.ResponseWriter, r *http.Request, id int64) error {
	f := newSheet(r.PostForm)
	return keeper[gear.Vehicle]{
		who: s.changedBy("vehicle"), main: "name", path: func(id int64) string { return pathOf("vehicles", id) },
		read: s.Store.Vehicle, at: s.Store.VehicleAt, save: s.Store.SaveVehicle,
		over:  func(was gear.Vehicle) (gear.Vehicle, error) { return readVehicle(f, was), nil },
		isNew: func(v gear.Vehicle) error { return s.freeVehicle(r, f, v.Name) },
		typed: vehicleTyped, labels: func(...gear.Vehicle) map[string]string { return labelsOf(vehicleForm(newSheet(nil))) },
		show: func(d store.Document[gear.Vehicle], st *stale) error { return s.vehicleFormPage(w, r, d, f, st) },
	}.keep(s, w, r, f, id)
}

// freeVehicle refuses a new vehicle that would be written over another one.
func (s *server) freeVehicle(r *http.Request, f *sheet, name string) error {
	_, found, err := s.vehicleNamed(r.Context(), name)
	if found {
		f.refuse("name", text("field.vehicletaken", name))
	}
	return err
}
