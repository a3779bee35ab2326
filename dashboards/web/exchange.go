package web

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"strings"

	"tautlog/calc/strict"
	"tautlog/calc/unit"
	"tautlog/ingest/logfile"
	"tautlog/ingest/registerfile"
	"tautlog/ingest/store"
)

// maxRegister is the longest file of a register that is taken in: some 20,000
// items.
const maxRegister = 8 << 20

func (s *server) exchangeRoutes() []route {
	return []route{
		reads("GET /files", s.files),
		reads("GET /files/{file}", s.takeOut),
		writes("POST /files/register", s.bringIn).withFiles(maxRegister),
	}
}

// exchangeView is the page on which the register goes in and out as files.
type exchangeView struct {
	Wrong  bool
	Part   entry
	File   entry
	Text   entry
	Who    entry
	Brings *brought
	Token  string
}

// brought is what a file brings, before or after it was written.
type brought struct {
	Written                   bool
	Added, Changed, Unchanged int
	Rows                      []broughtRow // that are new or changed, the first of them
	More                      int
	Text                      string // what is written when somebody says so
	Part                      string
}

// broughtRow is one entry of a file, and what becomes of what is there.
type broughtRow struct {
	What, Key, Did string
	Says           []string // of a changed one, each thing that differs
}

// shownOutcomes is how many entries of a file are told one by one.
const shownOutcomes = 200

func (s *server) files(w http.ResponseWriter, r *http.Request) error {
	return s.filesPage(w, r, newSheet(nil), nil)
}

func (s *server) filesPage(w http.ResponseWriter, r *http.Request, f *sheet, b *brought) error {
	v := exchangeView{Wrong: !f.good(), Brings: b, Token: s.tokenIn(r.Context())}
	if b != nil { // what was sent stands beside the button that writes it
		f = newSheet(nil)
	}
	f.fill(map[string]string{"who": signature(r)})
	fields := f.set(
		entry{Name: "part", Label: text("files.part"), Hint: text("files.part.hint"), Choices: []option{
			{Value: string(registerfile.Gear), Label: text("files.gear")},
			{Value: string(registerfile.Vehicles), Label: text("files.vehicles")},
			{Value: string(registerfile.Rigs), Label: text("files.rigs")},
		}},
		entry{Name: "file", Label: text("files.file"), Hint: text("files.file.hint"), Kind: "file", Takes: ".csv,.json,.txt,text/csv,application/json"},
		entry{Name: "text", Label: text("files.text"), Hint: text("files.text.hint"), Area: true, Most: maxRegister},
		entry{Name: "who", Label: text("files.who"), Hint: text("files.who.hint")},
	)
	v.Part, v.File, v.Text, v.Who = fields[0], fields[1], fields[2], fields[3]
	return s.showAs(w, r, formStatus(f, false), "files", text("files.title"), v)
}

// bringIn tells what a file of the register would change, and writes it when
// that is what the form says.
func (s *server) bringIn(w http.ResponseWriter, r *http.Request) error {
	f := newSheet(r.PostForm)
	part := registerfile.Part(f.typed("part"))
	typed, field, err := fileOrText(r)
	if err != nil {
		return err
	}
	if strings.TrimSpace(typed) == "" {
		f.refuse("file", text("files.nothing"))
		return s.filesPage(w, r, f, nil)
	}
	reg, err := registerfile.Read(strings.NewReader(typed), part)
	if err != nil {
		f.refuse(field, registerSays(err))
		return s.filesPage(w, r, f, nil)
	}
	write := f.typed("do") == "write"
	done, err := s.Store.SaveRegister(s.signed(w, r, "who"), store.Register(reg), !write)
	if errors.Is(err, store.ErrInvalid) || errors.Is(err, store.ErrConflict) {
		f.refuse(field, sentence(cause(err)))
		return s.filesPage(w, r, f, nil)
	}
	if err != nil {
		return err
	}
	return s.filesPage(w, r, f, broughtBy(done, write, typed, string(part), chosen(r).Unit))
}

// fileOrText is what a form brings as a file, or else in its field "text",
// and in which field.
func fileOrText(r *http.Request) (typed, field string, err error) {
	// A browser ends the lines of what is pasted, and of what is sent again, its
	// own way: so that both are read the same, all lines end one way.
	defer func() { typed = strings.ReplaceAll(typed, "\r\n", "\n") }()
	if r.MultipartForm != nil {
		for _, h := range r.MultipartForm.File["file"] {
			if h.Size == 0 {
				continue
			}
			in, err := h.Open()
			if err != nil {
				return "", "", err
			}
			defer func() { _ = in.Close() }()
			all, err := io.ReadAll(in)
			return string(all), "file", err
		}
	}
	return r.PostForm.Get("text"), "text", nil
}

// registerSays tells what is wrong with a file of the register, and where.
func registerSays(err error) string {
	if _, ok := errors.AsType[*strict.Error](err); ok {
		return text("files.wrong", err)
	}
	return sentence(err.Error())
}

func broughtBy(done []store.Outcome, written bool, typed, part string, u unit.ForceUnit) *brought {
	b := &brought{Written: written, Text: typed, Part: part}
	for _, o := range done {
		switch o.Did {
		case store.DidAdd:
			b.Added++
		case store.DidChange:
			b.Changed++
		default:
			b.Unchanged++
			continue
		}
		if len(b.Rows) < shownOutcomes {
			b.Rows = append(b.Rows, toldRow(o, u))
		} else {
			b.More++
		}
	}
	return b
}

func toldRow(o store.Outcome, u unit.ForceUnit) broughtRow {
	row := broughtRow{What: text("brought." + o.What), Key: o.Key, Did: text("brought." + string(o.Did))}
	if o.Did == store.DidChange {
		for _, say := range Differences(o.What, o.Before, o.After, u) {
			row.Says = append(row.Says, sentence(say))
		}
	}
	return row
}

// registerTables are the files of the register that hold one part of it.
var registerTables = map[string]registerfile.Part{
	"gear.csv": registerfile.Gear, "vehicles.csv": registerfile.Vehicles, "rigs.csv": registerfile.Rigs,
}

// takeOut gives the register or the log of pulls as a file.
func (s *server) takeOut(w http.ResponseWriter, r *http.Request) error {
	file := r.PathValue("file")
	var b bytes.Buffer // so that a failure sends nothing half made
	if form, ok := logForms[file]; ok {
		err := logfile.Write(&b, form, func(use func(logfile.Row) error) error {
			return logfile.Rows(r.Context(), s.Store, store.PullFilter{}, s.Zone, use)
		})
		if err != nil {
			return err
		}
		return s.sendFile(w, &b, form.Media(), file)
	}
	part, table := registerTables[file]
	if !table && file != "register.json" {
		return notHere()
	}
	all, err := s.Store.Register(r.Context())
	if err != nil {
		return err
	}
	reg, form := registerfile.Register(all), logfile.JSON
	if table {
		form = logfile.CSV
		err = reg.WritePart(&b, part)
	} else {
		err = registerfile.Encode(&b, reg)
	}
	if err != nil {
		return err
	}
	return s.sendFile(w, &b, form.Media(), file)
}
