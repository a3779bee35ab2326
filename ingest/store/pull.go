package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"tautlog/analysis/pull"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Pull is a pull in the log.
type Pull struct {
	ID      int64     `json:"-"`
	Version int64     `json:"-"` // counts the edits by people; see SavePull
	Updated time.Time `json:"-"`

	Cell    int64     `json:"-"`
	Day     int64     `json:"-"`                // 0: none
	Read    string    `json:"read,omitzero"`    // the cell's name when the pull was entered, which a rig with two cells wants to know, see PullBeside; the store sets it
	Rig     *rig.Rig  `json:"rig,omitempty"`    // as it was rigged, a copy; nil: not known
	Found   pull.Pull `json:"found"`            // as found and measured, or measured within Limits
	Limits  *Limits   `json:"limits,omitempty"` // that a person has set; nil: it starts and ends as found
	Aside   *Aside    `json:"aside,omitempty"`  // a person took it for no pull; nil: it is one
	By      Derived   `json:"by,omitzero"`      // what the force was derived by
	Kind    pull.Kind `json:"kind"`             // as shown: found, or changed by a person
	Ground  string    `json:"ground,omitzero"`
	Notes   string    `json:"notes,omitzero"`
	Photos  []string  `json:"photos,omitempty"` // attachments, each by its Ref
	Settled bool      `json:"-"`                // false: a first result, the pull may still go on

	// What only a person can know of it; nil, "" and 0: not known.
	Speed      *unit.Speed  `json:"speed,omitempty"`       // of the puller when the line came taut
	Slack      *unit.Length `json:"slack,omitempty"`       // of the line at the start
	Depth      string       `json:"depth,omitzero"`        // how deep the stuck vehicle stood
	Attempt    int          `json:"attempt,omitzero"`      // which one of a recovery, from 1
	PullerMass *unit.Mass   `json:"puller_mass,omitempty"` // on that day, in place of the rig's
	StuckMass  *unit.Mass   `json:"stuck_mass,omitempty"`
	// StuckWithin is by how much StuckMass may be off in 95 of 100 cases.
	StuckWithin *unit.Mass `json:"stuck_mass_within,omitempty"`
}

// Derived says by what a force was derived from readings.
type Derived struct {
	Calibration int   `json:"calibration,omitzero"` // number; 0: the curve that the cell was set up with
	Zero        int64 `json:"zero,omitzero"`        // when the zero was set, ns UTC; 0: none
}

// How deep a vehicle may be stuck, in the words of the mire rules of
// calc/steady; empty: not known.
const (
	DepthWheel  = "wheel"
	DepthFender = "fender"
	DepthCab    = "cab"
)

// storedPull is a row of pulls: the pull, and which of its parts a person has
// edited.
type storedPull struct {
	Pull
	edited int
	doc    []byte
}

const pullColumns = `SELECT id, cell, coalesce(day, 0), settled, edited, version, updated, pulls.doc FROM pulls `

func readPull(row scan) (p storedPull, err error) {
	var updated int64
	if err := row(&p.ID, &p.Cell, &p.Day, &p.Settled, &p.edited, &p.Version, &updated, &p.doc); err != nil {
		return p, err
	}
	p.Updated = time.Unix(0, updated).UTC()
	if err := json.Unmarshal(p.doc, &p.Pull); err != nil {
		return p, words.Error("store.damaged.document", ErrDamaged, thing("pull"), p.ID, err)
	}
	return p, nil
}

// Pull gives one pull, or ErrNotFound.
func (s *Store) Pull(ctx context.Context, id int64) (p Pull, err error) {
	err = s.read(ctx, fmt.Sprintf("store: read pull %d", id), func(tx *sql.Tx) error {
		stored, err := readPull(tx.QueryRowContext(ctx, pullColumns+whereID, id).Scan)
		p = stored.Pull
		return err
	})
	return p, err
}

// SavePull writes a pull.
//
// With a zero Version it is a result of the analysis. It replaces what was
// found for the same cell at the same time, which is a pull with the same
// start or, if there is none, the first that it overlaps: a later analysis
// may see the start a little earlier or later. It leaves alone what a person
// has edited (day, rig, kind, limits, ground, notes, and what only a person can
// know) and is never a conflict. Of a pull with limits it only tells what was
// found, unless it was measured within them, as its Limits say. A
// settled pull does not become unsettled again. Kind, when empty, is the kind
// found. With an ID it is that pull measured again, wherever it is found.
//
// With the ID and Version that were read it is an edit by a person: it
// changes just those, and is refused with ErrConflict when another edit
// came first. Where it sets Limits, Found and By are what was measured within
// them, with pull.FlagSetByHand; it is refused with ErrLimits where they hold
// nothing of the pull, or overlap another one of the cell. Where it takes
// them away, what was found is again the pull. Where it sets Aside, the pull
// counts no more; where it takes that away, it does again, unless it would overlap
// another one.
func (s *Store) SavePull(ctx context.Context, p Pull) (Pull, error) {
	saved, err := s.SavePulls(ctx, []Pull{p})
	if err != nil {
		return p, err
	}
	return saved[0], nil
}

// SavePulls writes pulls as SavePull does, all of them or none.
func (s *Store) SavePulls(ctx context.Context, pulls []Pull) ([]Pull, error) {
	if len(pulls) == 0 {
		return nil, nil
	}
	var saved []Pull
	err := s.write(ctx, savesPulls(pulls), func(tx *sql.Tx) (err error) {
		saved, err = s.savePullsIn(ctx, tx, pulls)
		return err
	})
	if err != nil {
		return nil, err
	}
	return saved, nil
}

func (s *Store) savePullsIn(ctx context.Context, tx *sql.Tx, pulls []Pull) (_ []Pull, err error) {
	saved := make([]Pull, len(pulls))
	for i, p := range pulls {
		if saved[i], err = s.savePullIn(ctx, tx, p); err != nil {
			return nil, err
		}
	}
	return saved, nil
}

// savesPulls says what is being done, for an error.
func savesPulls(pulls []Pull) string {
	switch p := pulls[0]; {
	case len(pulls) > 1:
		return fmt.Sprintf("store: save %d pulls, the first found at %s", len(pulls), clock(p.Found.Start))
	case p.Version == 0:
		return "store: save pull found at " + clock(p.Found.Start)
	default:
		return fmt.Sprintf("store: edit pull %d", p.ID)
	}
}

func (s *Store) savePullIn(ctx context.Context, tx *sql.Tx, p Pull) (Pull, error) {
	if p.Kind == "" {
		p.Kind = p.Found.Kind
	}
	if err := p.checkKnown(); err != nil {
		return p, err
	}
	if err := checkPhotos(ctx, tx, p.Photos, words.Say("store.thepull")); err != nil {
		return p, err
	}
	if p.Version == 0 {
		return s.enterPull(ctx, tx, p)
	}
	return s.editPull(ctx, tx, p)
}

// enterPull writes a result of the analysis.
func (s *Store) enterPull(ctx context.Context, tx *sql.Tx, p Pull) (Pull, error) {
	if p.Found.End < p.Found.Start {
		return p, refuse(ErrInvalid, words.Error("store.pull.ends"))
	}
	var err error
	if p.Read, err = cellName(ctx, tx, p.Cell); err != nil {
		return p, err
	}
	old, err := s.analysed(ctx, tx, p)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		p.keepLimits(storedPull{})
		return s.insertPull(ctx, tx, p, 0)
	case err != nil:
		return p, err
	}
	p.ID, p.Version, p.Read = old.ID, old.Version, cmp.Or(old.Read, p.Read)
	p.Settled = p.Settled || old.Settled
	p.keepLimits(old)
	p.keepEdits(old)
	return s.updatePull(ctx, tx, p, old, old.edited)
}

// analysed is the row that a result of the analysis is of, or sql.ErrNoRows.
func (s *Store) analysed(ctx context.Context, tx *sql.Tx, p Pull) (storedPull, error) {
	if p.ID == 0 {
		return samePull(ctx, tx, p)
	}
	old, err := readPull(tx.QueryRowContext(ctx, pullColumns+whereID, p.ID).Scan)
	if errors.Is(err, sql.ErrNoRows) || err == nil && old.Cell != p.Cell {
		err = ErrNotFound // and nothing to enter
	}
	return old, err
}

// cellName is what a cell is called now.
func cellName(ctx context.Context, tx *sql.Tx, id int64) (name string, err error) {
	err = tx.QueryRowContext(ctx, `SELECT key FROM cells WHERE id = ?`, id).Scan(&name)
	if errors.Is(err, sql.ErrNoRows) {
		err = fmt.Errorf("cell %d: %w", id, ErrNotFound)
	}
	return name, err
}

// samePull finds the row that the analysis has found again. It looks back no
// further than the longest pull of the cell, for which there is an index, and
// along an index of those with limits, which are few.
func samePull(ctx context.Context, tx *sql.Tx, p Pull) (storedPull, error) {
	found, _ := p.ByFinder()
	return readPull(tx.QueryRowContext(ctx, pullColumns+foundAgain, p.Cell, found.Start, found.End).Scan)
}

const (
	// Those whose limits a person has set are found again where they were found,
	// and else within their limits; those set aside where they were found, if
	// nothing that counts is there.
	foundAgain = `WHERE id IN (SELECT id FROM pulls ` + overlaps + `
	UNION ALL SELECT id FROM pulls INDEXED BY pulls_with_limits WHERE cell = ?1 AND found_start IS NOT NULL AND found_start <= ?3 AND found_end >= ?2)
	ORDER BY coalesce(found_start, start_ns) <> ?2, coalesce(found_start, start_ns) > ?3 OR coalesce(found_end, end_ns) < ?2, start_ns < -(1 << 62), start_ns LIMIT 1`
	overlaps = `WHERE cell = ?1 AND start_ns <= ?3 AND end_ns >= ?2
	AND start_ns >= ?2 - (SELECT max(end_ns - start_ns) FROM pulls WHERE cell = ?1)`
)

// editPull writes what a person has changed.
func (s *Store) editPull(ctx context.Context, tx *sql.Tx, p Pull) (Pull, error) {
	old, err := readPull(tx.QueryRowContext(ctx, pullColumns+whereID, p.ID).Scan)
	if err != nil {
		return p, err
	}
	if p.Version != old.Version {
		return p, refuse(ErrConflict, words.Error("store.version", old.Version, p.Version))
	}
	p.Cell, p.Read, p.Settled = old.Cell, old.Read, old.Settled
	edited, err := p.edits(old)
	if err != nil || edited == 0 {
		return old.Pull, err
	}
	if err := s.takeLimits(ctx, tx, &p, old, edited); err != nil {
		return p, err
	}
	if edited&editedAside != 0 {
		if err := s.takeAside(ctx, tx, &p, old); err != nil {
			return p, err
		}
	}
	p.Version++
	return s.updatePull(ctx, tx, p, old, old.edited|edited)
}

func (s *Store) insertPull(ctx context.Context, tx *sql.Tx, p Pull, edited int) (Pull, error) {
	doc, err := encodeDocument(p)
	if err != nil {
		return p, err
	}
	now := s.options.Now().UTC()
	const insert = `INSERT INTO pulls (cell, start_ns, end_ns, day, settled, edited, version, updated, doc) VALUES (?, ?, ?, ?, ?, ?, 1, ?, ?)`
	made, err := tx.ExecContext(ctx, insert, p.Cell, p.Found.Start, p.Found.End, idOrNull(p.Day), p.Settled, edited, now.UnixNano(), string(doc))
	if err != nil {
		return p, knownCell(ctx, tx, p.Cell, err)
	}
	if p.ID, err = made.LastInsertId(); err != nil {
		return p, err
	}
	p.Version, p.Updated = 1, now
	if err := linkPull(ctx, tx, p); err != nil {
		return p, err
	}
	entry, err := entryOf(ctx, p)
	if err != nil {
		return p, err
	}
	return p, s.enter(ctx, tx, now, "pull", p.ID, nil, entry)
}

func (s *Store) updatePull(ctx context.Context, tx *sql.Tx, p Pull, old storedPull, edited int) (Pull, error) {
	doc, err := encodeDocument(p)
	if err != nil {
		return p, err
	}
	if string(doc) == string(old.doc) && p.Day == old.Day && p.Settled == old.Settled {
		return old.Pull, nil
	}
	p.Updated = s.options.Now().UTC()
	const update = `UPDATE pulls SET start_ns = ?, end_ns = ?, day = ?, settled = ?, edited = ?, version = ?, updated = ?, doc = ? WHERE id = ?`
	start, end := p.when()
	_, err = tx.ExecContext(ctx, update, start, end, idOrNull(p.Day), p.Settled, edited, p.Version, p.Updated.UnixNano(), string(doc), p.ID)
	if err != nil {
		return p, err
	}
	if err := linkPull(ctx, tx, p); err != nil {
		return p, err
	}
	before, err := entryOf(ctx, old.Pull)
	if err != nil {
		return p, err
	}
	after, err := entryOf(ctx, p)
	if err != nil {
		return p, err
	}
	return p, s.enter(ctx, tx, p.Updated, "pull", p.ID, before, after)
}

// idOrNull makes a reference of an ID, NULL of 0.
func idOrNull(id int64) sql.NullInt64 { return sql.NullInt64{Int64: id, Valid: id != 0} }
