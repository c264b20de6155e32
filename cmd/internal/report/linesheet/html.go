package linesheet

import (
	"embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"feedline/cmd/internal/report/html"
	"feedline/cmd/internal/report/view"
	"feedline/inventory/quantity"
	"feedline/planner"
)

//go:embed sheet.css sheet.gohtml
var files embed.FS

var page = template.Must(template.New("sheet.gohtml").ParseFS(files, "sheet.gohtml"))

type document struct {
	Heading, Nothing, Length, Mass string
	CSS, Own                       template.CSS
	Sheets                         []sheetView
}

type sheetView struct {
	Title, Plan, Sums, Note string
	Many                    bool // several days
	Jobs                    []jobView
	Cautions, Book          []string
}

type jobView struct {
	No                                                 int
	Day, What, More, Hours, Good, Rate, Grade, Pellets string
	Big                                                bool
}

// HTML writes the sheets as a page that prints one sheet of paper for each.
func HTML(w io.Writer, in *planner.Input, p *planner.Plan, opt Options) error {
	own, err := files.ReadFile("sheet.css")
	if err != nil {
		panic("linesheet: the style is not embedded")
	}
	d := document{Heading: p.Heading(), Nothing: Nothing, Length: unitOf(quantity.KindLength, opt.Units), Mass: unitOf(quantity.KindMass, opt.Units), CSS: html.CSS(), Own: template.CSS(own)}
	for _, s := range Sheets(in, p, opt) {
		d.Sheets = append(d.Sheets, s.view(opt.Units))
	}
	return page.Execute(w, d)
}

func (s Sheet) view(sys quantity.System) sheetView {
	v := sheetView{Title: s.title(), Plan: s.Plan, Sums: bound(s.sums(sys)), Note: s.Note, Many: s.dated(), Cautions: s.Cautions}
	for i, j := range s.Jobs {
		v.Jobs = append(v.Jobs, j.view(i+1, sys))
		if j.Kind == Run && !slices.Contains(v.Book, j.Profile) {
			v.Book = append(v.Book, j.Profile)
		}
	}
	return v
}

func (j Job) view(no int, sys quantity.System) jobView {
	v := jobView{No: no, Hours: view.Figure(float64(j.Hours), 1), Big: true}
	if j.Day != 0 {
		v.Day = j.Day.UTC().Format("Mon 2 Jan")
	}
	switch j.Kind {
	case Start:
		v.What = "Start the line"
	case Change:
		v.What = fmt.Sprintf("Changeover %s → %s", orNone(j.From), orNone(j.To))
		v.More = fmt.Sprintf("%s, %s on%s", offWord(j.Off), j.Profile, j.booked())
	default:
		v.What, v.More = j.Profile, j.Name
		if j.Strands > 1 {
			v.More += fmt.Sprintf(", %d strands", j.Strands)
		}
		length, mass := quantity.DefaultUnit(quantity.KindLength, sys), quantity.DefaultUnit(quantity.KindMass, sys)
		v.Good, v.Grade = bound(view.Figure(length.FromStored(float64(j.Length)), 0)), j.Grade
		v.Pellets = bound(view.Figure(mass.FromStored(float64(j.Pellets)), 0))
		if j.Rate > 0 {
			v.Rate = bound(view.Figure(length.FromStored(j.Rate), 0))
		}
	}
	return v
}

// bound is a text of numbers whose groups stay together.
func bound(s string) string {
	runes := []rune(s)
	for i, r := range runes {
		if r == ' ' && i > 0 && i+1 < len(runes) && digit(runes[i-1]) && digit(runes[i+1]) {
			runes[i] = '\u00a0'
		}
	}
	return strings.TrimSpace(string(runes))
}

func digit(r rune) bool { return '0' <= r && r <= '9' }
