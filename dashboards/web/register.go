package web

import (
	"context"
	"html/template"
	"net/http"
	"strconv"
	"strings"
	"time"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/dashboards/chain"
	"tautlog/ingest/derive"
	"tautlog/ingest/record"
	"tautlog/ingest/store"
)

// vehicleNames finds what people call a vehicle by its ID. A vehicle without
// one is known by its name alone.
func (s *server) vehicleNames(ctx context.Context) (map[string]string, error) {
	docs, err := s.Store.Vehicles(ctx)
	out := map[string]string{}
	for _, d := range docs {
		if d.Value.ID != "" {
			out[d.Value.ID] = d.Value.Name
		}
	}
	return out, err
}

// rated tells the ratings of an item with their bases and conditions.
func rated(it gear.Item, u unit.ForceUnit) []string {
	var out []string
	for _, rt := range it.Ratings {
		said := text("rating.value", basisWords(rt.Basis), rt.Value.Show(u, 0))
		switch rt.Together {
		case gear.Pair:
			said += text("limit.together")
		case gear.Alone:
			said += text("limit.alone")
		}
		if rt.DesignFactor != nil {
			said += text("limit.factor", *rt.DesignFactor)
		}
		if rt.FactorFrom != "" {
			said += text("limit.factorfrom", rt.FactorFrom.Words())
		}
		if !rt.Direction.IsZero() {
			said = text("rating.direction", said, rt.Direction.Words())
		}
		out = append(out, said)
	}
	if len(out) == 0 {
		out = []string{text("rating.none")}
	}
	return out
}

func basisWords(b gear.Basis) string {
	if b == gear.Unknown {
		return text("basis.unknown")
	}
	return b.Words()
}

// listedRigs is how many rigs a page of the list draws.
const listedRigs = 20

// rigsView is the register of rigs.
type rigsView struct {
	Text    string
	Removed bool
	Rigs    []rigView
	Next    string
}

// rigView is one rig, drawn.
type rigView struct {
	Ref         int64
	Name, Notes string
	Ends        string // who pulls whom
	Wide, Tall  template.HTML
	Wrong       string
}

func (s *server) rigs(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	v := rigsView{Text: q.Get("text"), Removed: q.Get("show") == "removed"}
	docs, err := s.Store.FindRigs(r.Context(), store.Find{Text: v.Text, After: q.Get("after"), Limit: listedRigs + 1, Removed: v.Removed})
	if err != nil {
		return err
	}
	if len(docs) > listedRigs {
		docs = docs[:listedRigs]
		v.Next = nextPage("/rigs", q, docs[listedRigs-1].Value.Name)
	}
	for _, d := range docs {
		g := d.Value
		o := chain.Options{Unit: chosen(r).Unit, ID: "r" + strconv.FormatInt(d.ID, 10) + "-"}
		one := rigView{Ref: d.ID, Name: g.Name, Notes: g.Notes, Ends: ends(g), Wide: drawn(g, nil, o, chain.Wide), Tall: drawn(g, nil, o, chain.Tall)}
		if wrongs := wrongsOf(g); len(wrongs) > 0 {
			one.Wrong = text("rig.fit.wrong", strings.Join(wrongs, " "))
		}
		v.Rigs = append(v.Rigs, one)
	}
	return s.show(w, r, "rigs", text("rigs.title"), v)
}

// cellView is a cell with how it is doing.
type cellView struct {
	store.Cell
	Sentence    string
	CapacityIn  string
	Status      *record.Status
	First, Last string
	Stored      int64
	Page        string // its address
	Lead        string // what calibration is in force
	Is          []fact // what it is and what was taken of it
	Alarms      []string
}

func (s *server) cells(w http.ResponseWriter, r *http.Request) error {
	vs, err := s.cellViews(r.Context(), chosen(r).Unit)
	if err != nil {
		return err
	}
	return s.show(w, r, "cells", text("cells.title"), vs)
}

func (s *server) cellViews(ctx context.Context, u unit.ForceUnit) ([]cellView, error) {
	cells, err := s.Store.Cells(ctx)
	if err != nil {
		return nil, err
	}
	out := make([]cellView, len(cells))
	for i, c := range cells {
		known, err := derive.Of(ctx, s.Store, c)
		if err != nil {
			return nil, err
		}
		if out[i], err = s.cellView(ctx, known, u); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// cellView tells how a cell is doing and what was taken of it.
func (s *server) cellView(ctx context.Context, c derive.Cell, u unit.ForceUnit) (cellView, error) {
	v := cellView{Cell: c.Cell, Sentence: s.said([]store.Cell{c.Cell})[0].Sentence, Status: s.status(c.ID)}
	if c.Capacity > 0 {
		v.CapacityIn = about(c.Capacity, u)
	}
	first, last, n, err := s.Store.Span(ctx, c.ID)
	if err != nil {
		return v, err
	}
	now := c.History.At(s.Now().UnixNano())
	v.Page, v.Lead, v.Alarms = cellPath(c.Name), inForceLead(c, now, u), s.certificateAlarms(now)
	if v.Stored = n; n > 0 {
		v.First, v.Last = s.at(first), s.at(last)
	}
	v.Is = v.is()
	return v, nil
}

func (s *server) at(ns int64) string {
	return words.DateAt(time.Unix(0, ns).In(s.Zone), "15:04:05")
}

// dateOf is the date, as documents have it, of a moment in ns UTC.
func (s *server) dateOf(ns int64) string {
	return time.Unix(0, ns).In(s.Zone).Format(time.DateOnly)
}

func (s *server) status(cell int64) *record.Status {
	if s.Recorder == nil {
		return nil
	}
	for _, st := range s.Recorder.Statuses() {
		if st.Cell == cell {
			return &st
		}
	}
	return nil
}

// apiCells is the same as the page, for programs.
func (s *server) apiCells(w http.ResponseWriter, r *http.Request) error {
	vs, err := s.cellViews(r.Context(), chosen(r).Unit)
	if err != nil {
		return err
	}
	type cellJSON struct {
		store.Cell
		Sentence string         `json:"says"`
		Status   *record.Status `json:"status"`
		Stored   int64          `json:"readings_stored"`
	}
	out := make([]cellJSON, len(vs))
	for i, v := range vs {
		out[i] = cellJSON{v.Cell, v.Sentence, v.Status, v.Stored}
	}
	writeJSON(w, http.StatusOK, map[string]any{"cells": out})
	return nil
}
