package report

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"

	"feedline/inventory/quantity"
	"feedline/planner/records"
)

// EntriesSchema names the JSON of a list of entries.
const EntriesSchema = "feedline.entries/1"

type entriesDoc struct {
	Schema  string     `json:"schema"`
	Entries []entryDoc `json:"entries"`
}

type entryDoc struct {
	ID         int64             `json:"entry"`
	At         string            `json:"at"`
	Who        string            `json:"who"`
	Kind       string            `json:"kind"`
	Code       string            `json:"code"`
	Day        string            `json:"day"`
	Note       string            `json:"note"`
	History    bool              `json:"history"`
	Reverses   int64             `json:"reverses"`
	ReversedBy int64             `json:"reversed_by"`
	Values     map[string]string `json:"values"`
	Moves      []moveDoc         `json:"moves"`
}

type moveDoc struct {
	Account string  `json:"account"`
	Code    string  `json:"code"`
	Kg      float64 `json:"mass_kg"`
	Metres  float64 `json:"length_m"`
}

// Values is a record's fields that are not blank, by name.
type Values func(records.Record) map[string]string

// EntriesJSON writes entries as a document of EntriesSchema.
func EntriesJSON(w io.Writer, list []records.Entry, values Values) error {
	doc := entriesDoc{Schema: EntriesSchema, Entries: []entryDoc{}}
	for _, e := range list {
		d := entryDoc{ID: e.ID, At: e.At.UTC().Format(time.RFC3339), Who: e.Who, Kind: string(e.Head.Kind), Code: e.Head.Code, Day: e.Head.Day.String(),
			Note: e.Head.Note, History: e.History, Reverses: e.Reverses, ReversedBy: e.ReversedBy, Values: map[string]string{}, Moves: []moveDoc{}}
		if e.Record != nil {
			d.Values = values(e.Record)
		}
		for _, m := range e.Moves {
			d.Moves = append(d.Moves, moveDoc{string(m.Account), m.Code, float64(m.Grams) / 1000, float64(m.Millis) / 1000})
		}
		doc.Entries = append(doc.Entries, d)
	}
	return writeDoc(w, doc)
}

// writeDoc writes a document, indented.
func writeDoc(w io.Writer, doc any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(doc)
}

// Entries writes entries as text: a line each, and what they moved.
func Entries(w io.Writer, list []records.Entry, values Values, opt Options) error {
	p := &page{opt: opt}
	for _, e := range list {
		p.wrap(heading, fmt.Sprintf("entry %d  %s %s  %s  by %s at %s%s", e.ID, e.Head.Kind, e.Head.Code, e.Head.Day, e.Who, e.At.UTC().Format("2006-01-02 15:04 UTC"), standing(e)))
		if e.Record != nil {
			p.wrap(normal, fieldList(values(e.Record)))
		} else if e.Head.Note != "" {
			p.wrap(normal, "why: "+e.Head.Note)
		}
		if s := moveList(e.Moves, opt.Units); s != "" {
			p.wrap(normal, "moved: "+s)
		}
	}
	if len(list) == 0 {
		p.add(normal, "nothing is recorded")
	}
	return p.writeTo(w)
}

func standing(e records.Entry) string {
	s := ""
	if e.History {
		s += ", history"
	}
	if e.Reverses != 0 {
		s += fmt.Sprintf(", reverses entry %d", e.Reverses)
	}
	if e.ReversedBy != 0 {
		s += fmt.Sprintf(", REVERSED by entry %d", e.ReversedBy)
	}
	return s
}

func fieldList(values map[string]string) string {
	var parts []string
	for _, name := range slices.Sorted(maps.Keys(values)) {
		if name != "day" && name != "code" && name != "ticket" {
			parts = append(parts, together(name+" "+strings.ReplaceAll(values[name], "\n", " ")))
		}
	}
	return strings.Join(parts, ", ")
}

func moveList(list []records.Move, sys quantity.System) string {
	var parts []string
	for _, m := range list {
		s := strings.TrimSpace(string(m.Account) + " " + m.Code)
		switch {
		case m.Account == records.InProfile, m.Millis != 0:
			s += " " + withSign(records.LengthOf(m.Millis).Format(sys, 1))
		default:
			s += " " + withSign(records.MassOf(m.Grams).Format(sys, 1))
		}
		parts = append(parts, together(s))
	}
	return strings.Join(parts, ", ")
}

func withSign(s string) string {
	if strings.HasPrefix(s, "-") || strings.HasPrefix(s, "−") {
		return s
	}
	return "+" + s
}
