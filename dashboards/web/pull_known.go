package web

import (
	"context"
	"encoding/json"
	"slices"
	"strconv"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// mostAttempts is the largest number of an attempt that makes sense.
const mostAttempts = 99

// account is what a person says of a pull, and only a person can know.
type account struct {
	Kind       pull.Kind    `json:"kind"`
	Ground     string       `json:"ground,omitzero"`
	Notes      string       `json:"notes,omitzero"`
	Speed      *unit.Speed  `json:"speed,omitempty"`
	Slack      *unit.Length `json:"slack,omitempty"`
	Depth      string       `json:"depth,omitzero"`
	Attempt    int          `json:"attempt,omitzero"`
	PullerMass *unit.Mass   `json:"puller_mass,omitempty"`
	StuckMass  *unit.Mass   `json:"stuck_mass,omitempty"`
	Within     *unit.Mass   `json:"stuck_mass_within,omitempty"`
}

func accountOf(p store.Pull) account {
	return account{p.Kind, p.Ground, p.Notes, p.Speed, p.Slack, p.Depth, p.Attempt, p.PullerMass, p.StuckMass, p.StuckWithin}
}

// of is the pull of which that is said.
func (x account) of(p store.Pull) store.Pull {
	p.Kind, p.Ground, p.Notes, p.Speed, p.Slack = x.Kind, x.Ground, x.Notes, x.Speed, x.Slack
	p.Depth, p.Attempt, p.PullerMass, p.StuckMass, p.StuckWithin = x.Depth, x.Attempt, x.PullerMass, x.StuckMass, x.Within
	return p
}

// pullKeeper keeps what is said of a pull; show is the caller's.
func (s *server) pullKeeper(f *sheet) keeper[account] {
	document := func(p store.Pull, err error) (store.Document[account], error) {
		return store.Document[account]{ID: p.ID, Version: p.Version, Value: accountOf(p)}, err
	}
	return keeper[account]{
		who: s.saidBy, main: "notes", path: func(id int64) string { return pathOf("pulls", id) },
		read: func(ctx context.Context, id int64) (store.Document[account], error) {
			return document(s.Store.Pull(ctx, id))
		},
		at: func(ctx context.Context, id, version int64) (account, error) {
			p, err := s.Store.PullAt(ctx, id, version)
			return accountOf(p), err
		},
		save: func(ctx context.Context, d store.Document[account]) (store.Document[account], error) {
			p, err := s.Store.Pull(ctx, d.ID)
			if err != nil {
				return d, err
			}
			p = d.Value.of(p)
			p.Version = d.Version
			return document(s.Store.SavePull(ctx, p))
		},
		over:  func(was account) (account, error) { return readAccount(f, was), nil },
		typed: accountTyped, labels: func(...account) map[string]string { return labelsOf([]group{{Fields: accountEntries()}}) },
	}
}

// saidBy tells who said something of a pull between two versions.
func (s *server) saidBy(ctx context.Context, id, begun, now int64) (out []string, err error) {
	changes, err := s.saidBetween(ctx, id, begun, now)
	for _, c := range changes {
		out = append(out, s.changeBy(c))
	}
	return out, err
}

// saidBetween gives the changes of a pull that people made between two versions,
// the latest first. What was measured meanwhile is no version.
func (s *server) saidBetween(ctx context.Context, id, begun, now int64) (out []store.Change, err error) {
	changes, err := s.Store.Changes(ctx, store.JournalFilter{What: "pull", Ref: id, Limit: 5 * shownChanges})
	for _, c := range changes {
		var before, after struct{ Version int64 }
		if json.Unmarshal(c.Before, &before) == nil && json.Unmarshal(c.After, &after) == nil && after.Version > max(begun, before.Version) && after.Version <= now {
			out = append(out, c)
		}
	}
	return out, err
}

// accountEntries are the fields of what a person says of a pull.
func accountEntries() []entry {
	depths := []option{{Label: text("page.pull.known.not-known")}}
	for _, d := range []string{store.DepthWheel, store.DepthFender, store.DepthCab} {
		depths = append(depths, option{Value: d, Label: text("depth." + d)})
	}
	return []entry{
		{Name: "kind", Label: text("page.pull.known.kind"), Choices: kindChoices()},
		{Name: "ground", Label: text("page.pull.known.ground"), Suggest: commonGrounds()},
		{Name: "speed", Label: text("page.pull.known.speed"), Hint: text("page.pull.known.speed.hint")},
		{Name: "slack", Label: text("page.pull.known.slack"), Hint: text("page.pull.known.slack.hint")},
		{Name: "depth", Label: text("page.pull.known.depth"), Choices: depths},
		{Name: "attempt", Label: text("page.pull.known.attempt"), Hint: text("page.pull.known.attempt.hint")},
		{Name: "puller-mass", Label: text("page.pull.known.puller-mass"), Hint: text("page.pull.known.puller-mass.hint")},
		{Name: "stuck-mass", Label: text("page.pull.known.stuck-mass"), Hint: text("page.pull.known.stuck-mass.hint")},
		{Name: "stuck-within", Label: text("page.pull.known.stuck-within"), Hint: text("page.pull.known.stuck-within.hint")},
		{Name: "notes", Label: text("page.pull.known.notes"), Area: true},
	}
}

// accountFields shows what is said of a pull, or what was typed of it.
func accountFields(f *sheet, p store.Pull) []entry {
	if f.q == nil {
		f.fill(accountTyped(accountOf(p)))
	}
	fields := f.set(accountEntries()...)
	if p.Rig != nil {
		sayMass(fields, "puller-mass", p.Rig.Pulling.Mass())
		sayMass(fields, "stuck-mass", p.Rig.Stuck.Mass())
	}
	return fields
}

// filledIn is what fields hold, for somebody who gets no form.
func filledIn(fields []entry) (out []fact) {
	for _, e := range fields {
		says := e.Value
		if i := slices.IndexFunc(e.Choices, func(o option) bool { return o.Value == e.Value }); i >= 0 {
			says = e.Choices[i].Label
		}
		if e.Value != "" {
			out = append(out, fact{e.Label, says})
		}
	}
	return out
}

// sayMass says beside a field what counts where it is left empty.
func sayMass(fields []entry, name string, m gear.Mass) {
	if i := slices.IndexFunc(fields, func(e entry) bool { return e.Name == name }); m.Value > 0 {
		fields[i].Hint = text("page.pull.known.rig-mass.hint", m.Value, m.From)
	}
}

// accountTyped is what is said of a pull, as it would be typed.
func accountTyped(p account) map[string]string {
	out := map[string]string{"kind": string(p.Kind), "ground": p.Ground, "notes": p.Notes, "depth": p.Depth}
	if p.Speed != nil {
		out["speed"] = typedAs(float64(*p.Speed)*3.6, "km/h")
	}
	if p.Slack != nil {
		out["slack"] = typedAs(float64(*p.Slack), "m")
	}
	if p.Attempt > 0 {
		out["attempt"] = strconv.Itoa(p.Attempt)
	}
	if p.PullerMass != nil {
		out["puller-mass"] = kilograms(*p.PullerMass)
	}
	if p.StuckMass != nil {
		out["stuck-mass"] = kilograms(*p.StuckMass)
	}
	if p.Within != nil {
		out["stuck-within"] = kilograms(*p.Within)
	}
	return out
}

// readAccount reads what was typed over what the form was shown with. A field that
// says what was recorded, rounded as it was shown, leaves that as it is.
func readAccount(f *sheet, was account) account {
	p, shown := was, accountTyped(was)
	p.Kind, p.Ground, p.Notes = pull.Kind(f.typed("kind")), f.typed("ground"), f.typed("notes")
	if !knownKind(p.Kind) {
		f.refuse("kind", text("refused.kind", p.Kind))
	}
	p.Speed = known(f, shown, "speed", "speed", unit.ParseSpeed, notBelow, was.Speed)
	p.Slack = known(f, shown, "slack", "length", unit.ParseLength, notBelow, was.Slack)
	p.PullerMass = known(f, shown, "puller-mass", "mass", unit.ParseMass, above, was.PullerMass)
	p.StuckMass = known(f, shown, "stuck-mass", "mass", unit.ParseMass, above, was.StuckMass)
	p.Within = known(f, shown, "stuck-within", "mass", unit.ParseMass, above, was.Within)
	if wrong := gear.CheckWithin(p.StuckMass, p.Within); wrong != "" && f.good() {
		f.refuse("stuck-within", sentence(wrong))
	}
	p.Attempt = f.count("attempt", 1, mostAttempts, 0)
	switch d := f.typed("depth"); d {
	case "", store.DepthWheel, store.DepthFender, store.DepthCab:
		p.Depth = d
	default:
		f.refuse("depth", text("field.depth", d))
	}
	return p
}

// known reads a field that may be empty.
func known[T ~float64](f *sheet, was map[string]string, name, what string, parse func(string) (T, error), low least, now *T) *T {
	if f.typed(name) == was[name] {
		return now
	}
	v, given := quantity(f, name, what, parse, low)
	if !given {
		return nil
	}
	return &v
}

// knownDifferences says what undoing a change would bring back.
func knownDifferences(before, now store.Pull) (out []string) {
	old, is := accountTyped(accountOf(before)), accountTyped(accountOf(now))
	for _, name := range []string{"speed", "slack", "depth", "attempt", "puller-mass", "stuck-mass", "stuck-within"} {
		if old[name] == is[name] {
			continue
		}
		was := old[name]
		if was == "" {
			was = text("undo.unknown")
		}
		out = append(out, text("undo."+name, was))
	}
	return out
}

// apart says that the speed that was entered and the trace disagree.
func apart(p store.Pull) string {
	if p.Kind != pull.Kinetic {
		return ""
	}
	return sentence(loggedOf(p).SpeedApart())
}

// loggedOf is what is known of a pull by itself, without its day.
func loggedOf(p store.Pull) shock.Logged {
	return shock.Logged{
		Kind: p.Kind, Rig: p.Rig, Cell: p.Read, Found: p.Found, Open: !p.Settled,
		Speed: p.Speed, PullerMass: p.PullerMass, StuckMass: p.StuckMass, StuckWithin: p.StuckWithin,
	}
}
