package web

import (
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// mayHold says that proof pulls of an item's mounting can be recorded with it.
func mayHold(it gear.Item) bool { return it.Kind.Point() || it.Kind == gear.Mounting }

// proofView is a recorded proof pull, told.
type proofView struct {
	Says  string
	Notes string
	Pull  string // address of the pull; empty where it is none of the log
}

// proofsOf lists the proof pulls of a mounting, the latest first.
func proofsOf(f *gear.Fixing, u unit.ForceUnit) (out []proofView) {
	for _, p := range f.Proofs {
		says := []string{about(p.Level, u)}
		if p.Hold != nil {
			says = append(says, text("proof.hold", seconds(*p.Hold)))
		}
		if p.Decay != nil {
			says = append(says, text("proof.decay", strconv.FormatFloat(100**p.Decay, 'g', 3, 64)))
		}
		switch {
		case p.Set == nil:
			says = append(says, text("proof.nolook"))
		case *p.Set == 0:
			says = append(says, text("proof.noset"))
		default:
			says = append(says, text("proof.set", strconv.FormatFloat(1000*float64(*p.Set), 'g', 3, 64)))
		}
		if p.Date != "" {
			says = append(says, p.Date.Words())
		}
		v := proofView{Says: strings.Join(says, ", "), Notes: p.Notes}
		if n, err := strconv.ParseInt(p.Pull, 10, 64); err == nil {
			v.Pull = pathOf("pulls", n)
		} else if p.Pull != "" {
			v.Says += ", " + p.Pull
		}
		out = append(out, v)
	}
	slices.Reverse(out)
	return out
}

// proofFields are those of a proof pull that was made anywhere.
func proofFields() []entry {
	return []entry{
		{Name: "proof-level", Label: text("page.gear.proof.proof-level"), HintOf: "page.gear.proof.proof-level.hint", Like: []unit.Force{40e3}},
		{Name: "proof-hold", Label: text("page.gear.proof.proof-hold"), Hint: text("page.gear.proof.proof-hold.hint")},
		{Name: "proof-decay", Label: text("page.gear.proof.proof-decay"), Hint: text("page.gear.proof.proof-decay.hint")},
		setField(),
		{Name: "proof-date", Label: text("page.gear.proof.proof-date"), Hint: text("page.gear.date.hint")},
		{Name: "proof-pull", Label: text("page.gear.proof.proof-pull"), Hint: text("page.gear.proof.proof-pull.hint")},
		{Name: "proof-notes", Label: text("page.gear.proof.proof-notes"), Area: true},
	}
}

func setField() entry {
	return entry{Name: "proof-set", Label: text("page.gear.proof.proof-set"), Hint: text("page.gear.proof.proof-set.hint")}
}

// parseSeconds reads a time with its unit.
func parseSeconds(t string) (float64, error) {
	d, err := time.ParseDuration(strings.ReplaceAll(t, " ", ""))
	if err != nil {
		return 0, errors.New(text("field.seconds", t))
	}
	return d.Seconds(), nil
}

// given is a quantity that may be left empty.
func given[T ~float64](f *sheet, name, what string, parse func(string) (T, error)) *T {
	v, ok := quantity(f, name, what, parse, notBelow)
	if !ok {
		return nil
	}
	return &v
}

// addProof adds a proof pull to what is known of a mounting.
func (s *server) addProof(w http.ResponseWriter, r *http.Request) error {
	d, err := s.itemAsked(r)
	if err != nil {
		return err
	}
	if !mayHold(d.Value) {
		return refuse(http.StatusBadRequest, text("refused.noproof", d.Value.Name))
	}
	f := newSheet(r.PostForm)
	p := gear.ProofPull{
		Level: needed(f, "proof-level", "force", likeForce(40e3, chosen(r).Unit), unit.ParseForce, above), Hold: given(f, "proof-hold", "time", parseSeconds),
		Decay: given(f, "proof-decay", "loss", unit.ParseShare), Set: given(f, "proof-set", "length", unit.ParseLength),
		Date: readDate(f, "proof-date"), Pull: f.typed("proof-pull"), Notes: f.typed("proof-notes"),
	}
	if p.Decay != nil && *p.Decay > 1 {
		f.refuse("proof-decay", text("field.decay"))
	}
	if p.Pull != "" {
		if err := s.knownPull(r, f, p.Pull); err != nil {
			return err
		}
	}
	if !f.good() {
		return s.showItem(w, r, d, f, nil)
	}
	err = s.change(w, r, "proof-who", d.ID, func(it *gear.Item) error { return addProofTo(it, p) })
	if errors.Is(err, errProofThere) {
		f.refuse("proof-pull", text("field.proofthere", d.Value.Name, p.Pull))
		return s.showItem(w, r, d, f, nil)
	}
	return err
}

// errProofThere says that a pull is among the proofs of an item already.
var errProofThere = errors.New("web: the pull is a proof of it already")

// knownPull refuses the number of a pull that is not in the log.
func (s *server) knownPull(r *http.Request, f *sheet, typed string) error {
	id, err := strconv.ParseInt(typed, 10, 64)
	if err == nil {
		_, err = s.Store.Pull(r.Context(), id)
		if err != nil && !errorsIsNotFound(err) {
			return err
		}
	}
	if err != nil {
		f.refuse("proof-pull", text("field.nopull", typed))
	}
	return nil
}

// addProofTo adds a proof pull, unless the same pull is there already.
func addProofTo(it *gear.Item, p gear.ProofPull) error {
	var x gear.Fixing
	if it.Fixing != nil {
		x = *it.Fixing
	}
	if p.Pull != "" && slices.ContainsFunc(x.Proofs, func(q gear.ProofPull) bool { return q.Pull == p.Pull }) {
		return errProofThere
	}
	x.Proofs = append(slices.Clone(x.Proofs), p)
	it.Fixing = &x
	return nil
}

// proofStep is the form that keeps a logged proof pull as evidence of a point
// or mounting of its rig.
type proofStep struct {
	Fields []entry // none: nothing in the rig can take it
	Wrong  bool
}

// provable are the points and mountings of a pull's rig that are in the
// register and whose load the reading tells, with that load at the level that
// was held. What is known only as the most that it may have been is no evidence.
func (s *server) provable(r *http.Request, p store.Pull, told result) ([]option, map[string]unit.Force, error) {
	refs, err := s.Store.PullItems(r.Context(), p.ID)
	if err != nil {
		return nil, nil, err
	}
	held := 1.0
	if st := p.Found.Steady; st != nil && *st < p.Found.Peak {
		held = float64(*st / p.Found.Peak)
	}
	var out []option
	levels := map[string]unit.Force{}
	for _, v := range told.Verdicts {
		it := gear.Item{ID: v.ID, Name: v.Name, Kind: v.Kind}
		id := strconv.FormatInt(refs[it.Key()], 10)
		certain := v.Known && !v.Open && len(v.Cases) == 0 && v.Share.Joint == nil
		if !certain || !mayHold(it) || it.Kind.NeverRecovery() || id == "0" || levels[id] != 0 {
			continue
		}
		levels[id] = v.Carried * unit.Force(held)
		out = append(out, option{Value: id, Label: text("proof.of", v.Name, about(levels[id], chosen(r).Unit))})
	}
	return out, levels, nil
}

func (s *server) proofStep(r *http.Request, p store.Pull, told result, f *sheet) (*proofStep, error) {
	if p.Kind != pull.Proof || !p.Settled {
		return nil, nil
	}
	can, _, err := s.provable(r, p, told)
	if err != nil || len(can) == 0 {
		return &proofStep{}, err
	}
	if len(can) > 1 {
		can = append([]option{{Label: text("page.gear.proof.choose")}}, can...)
	}
	f.fill(map[string]string{"proof-who": signature(r)})
	return &proofStep{Wrong: !f.good(), Fields: f.set(
		entry{Name: "proof-item", Label: text("page.gear.proof.proof-item"), Choices: can}, setField(),
		entry{Name: "proof-notes", Label: text("page.gear.proof.proof-notes"), Area: true}, entry{Name: "proof-who", Label: text("page.gear.proof.proof-who"), Hint: text("page.gear.proof.proof-who.hint")},
	)}, nil
}

// keepProof keeps a logged proof pull with the point that it proved: the level
// that was held there, and what it lost meanwhile.
func (s *server) keepProof(w http.ResponseWriter, r *http.Request) error {
	p, c, told, err := s.pullTold(r)
	if err != nil {
		return err
	}
	_, levels, err := s.provable(r, p, told)
	if err != nil {
		return err
	}
	f := newSheet(r.PostForm)
	level, ok := levels[f.typed("proof-item")]
	if !ok || p.Kind != pull.Proof || !p.Settled {
		f.refuse("proof-item", text("field.proofitem"))
	}
	proof := gear.ProofPull{
		Level: level, Hold: p.Found.Held, Decay: p.Found.HoldDecay, Set: given(f, "proof-set", "length", unit.ParseLength),
		Date: gear.Date(s.dateOf(p.Found.Start)), Pull: strconv.FormatInt(p.ID, 10), Notes: f.typed("proof-notes"),
	}
	if f.good() {
		id, err := number(f.typed("proof-item"), text("page.gear.proof.an-item"))
		if err != nil {
			return err
		}
		name := ""
		err = s.change(w, r, "proof-who", id, func(it *gear.Item) error {
			name = it.Name
			return addProofTo(it, proof)
		})
		if !errors.Is(err, errProofThere) {
			return err
		}
		f.refuse("proof-item", text("field.proofthere", name, proof.Pull))
	}
	forms := emptyForms(p)
	forms.proof = f
	return s.showPull(w, r, p, c, forms)
}
