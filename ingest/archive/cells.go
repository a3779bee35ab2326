package archive

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"os"
	"strings"

	"tautlog/calc/words"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// archived is a cell and how far it is.
type archived struct {
	derive.Cell
	at store.ArchivedCell
}

// cells gives all cells, those that the archive does not know yet begun, and
// those whose calibration is another one to be pushed again from there on.
func (p *Pusher) cells(ctx context.Context) ([]archived, error) {
	station, err := p.station(ctx)
	if err != nil {
		return nil, err
	}
	all, err := p.cfg.Store.Cells(ctx)
	if err != nil {
		return nil, err
	}
	known, err := p.known(ctx)
	if err != nil {
		return nil, err
	}
	out := make([]archived, 0, len(all))
	for _, c := range all {
		cell, err := derive.Of(ctx, p.cfg.Store, c)
		if err != nil {
			return nil, err
		}
		at, err := p.begin(ctx, cell, known, station)
		if err != nil {
			return nil, err
		}
		out = append(out, archived{cell, at})
	}
	return out, nil
}

// begin gives how far a cell is, by how its readings become force now.
func (p *Pusher) begin(ctx context.Context, c derive.Cell, known map[int64]store.ArchivedCell, station string) (store.ArchivedCell, error) {
	now := scaleOf(c)
	at, ok := known[c.ID]
	if !ok {
		return p.cfg.Store.ArchiveCell(ctx, store.ArchivedCell{Archive: p.cfg.Server.Address(), Cell: c.ID, Station: station, Name: Tag(c.Name), Scale: now.String()})
	}
	if at.Scale == now.String() {
		return at, nil
	}
	return p.cfg.Store.Rescale(ctx, at, now.String(), now.differsFrom(at.Scale))
}

func (p *Pusher) known(ctx context.Context) (map[int64]store.ArchivedCell, error) {
	all, err := p.cfg.Store.ArchivedCells(ctx, p.cfg.Server.Address())
	known := map[int64]store.ArchivedCell{}
	for _, c := range all {
		known[c.Cell] = c
	}
	return known, err
}

// station is what the store is called. The first name stays, since another
// one would double everything.
func (p *Pusher) station(ctx context.Context) (string, error) {
	wanted := Tag(p.cfg.Server.settings.Station)
	proposal := wanted
	if proposal == "" {
		proposal = Tag(ownName())
	}
	name, err := p.cfg.Store.Station(ctx, proposal)
	if err == nil && wanted != "" && name != wanted {
		err = &Fault{Kind: Denied, Says: words.Say("archive.fault.station", name, wanted)}
	}
	return name, err
}

// ownName is the name of the computer with four digits, because many computers
// have the same.
func ownName() string {
	host, err := os.Hostname()
	if err != nil || host == "" {
		host = "laptop"
	}
	host, _, _ = strings.Cut(host, ".")
	four := make([]byte, 2)
	_, _ = rand.Read(four) // never fails
	return host + "-" + hex.EncodeToString(four)
}

// describe tells the archive of a cell that it does not know as it is.
func (p *Pusher) describe(ctx context.Context, c archived) error {
	known, err := describe(ctx, p.cfg.Store, c.Cell.Cell)
	if err != nil {
		return err
	}
	doc, err := json.Marshal(known)
	if err != nil || p.described[c.ID] == string(doc) {
		return err
	}
	var f fields
	if c.Capacity > 0 {
		f.number("capacity_N", float64(c.Capacity))
	}
	f.document("doc", string(doc))
	fault, err := p.sendSome(ctx, point(cellMeasurement, c.at, c.Updated.UnixNano(), f))
	if err == nil && fault == nil {
		p.described[c.ID] = string(doc)
	}
	return err // a refusal of it is no reason to hold the readings back
}
