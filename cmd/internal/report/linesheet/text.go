package linesheet

import (
	"fmt"
	"io"
	"strings"
	"unicode"

	"feedline/cmd/internal/report/view"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Text writes the sheets one after another, each on a page of its own for a printer that knows form feeds.
func Text(w io.Writer, in *planner.Input, p *planner.Plan, opt Options) error {
	var b strings.Builder
	list := Sheets(in, p, opt)
	if len(list) == 0 {
		b.WriteString(Nothing + "\n")
	}
	for i, s := range list {
		if i > 0 {
			b.WriteString("\f\n")
		}
		s.text(&b, opt)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// Nothing is said where there is no sheet.
const Nothing = "No line has work in these days."

func (s Sheet) text(b *strings.Builder, opt Options) {
	add := func(format string, args ...any) {
		for _, line := range wrapped(clean(fmt.Sprintf(format, args...))) {
			b.WriteString(strings.ReplaceAll(line, "\u00a0", " ") + "\n")
		}
	}
	add("%s", s.title())
	add("%s", s.Plan)
	b.WriteString("\n")
	for i, j := range s.Jobs {
		add("%2d  %s", i+1, j.words(s, opt.Units))
	}
	if len(s.Jobs) == 0 {
		add("    No work.")
	}
	b.WriteString("\n")
	add("%s", s.sums(opt.Units))
	if s.Note != "" {
		add("Note: %s", s.Note)
	}
	for _, c := range s.Cautions {
		add("! %s", c)
	}
	b.WriteString("\n")
	for _, j := range s.Jobs {
		if j.Kind == Run {
			add("%-10s made ________ %s   scrap ________ %s   stopped ______ h   by ________", j.Profile, unitOf(quantity.KindLength, opt.Units), unitOf(quantity.KindMass, opt.Units))
		}
	}
}

// title is the line and its days.
func (s Sheet) title() string {
	name := s.Line
	if s.Name != "" && s.Name != s.Line {
		name += ", " + s.Name
	}
	return name + ": " + spanWords(s.Span)
}

func spanWords(s calendar.Span) string {
	if s.Days() <= 1 {
		return view.Date(s.From)
	}
	return s.From.WeekLabel() + ", " + view.Date(s.From) + " to " + view.Date(s.To-1)
}

// words is the job in a line or two; the day is named where the sheet has several.
func (j Job) words(s Sheet, sys quantity.System) string {
	day := ""
	if s.dated() && j.Day != 0 {
		day = j.Day.UTC().Format("Mon 2 Jan") + "  "
	}
	switch j.Kind {
	case Start:
		return day + "START the line, " + hours(j.Hours)
	case Change:
		return day + fmt.Sprintf("CHANGEOVER %s → %s, %s: %s, %s on", orNone(j.From), orNone(j.To), hours(j.Hours)+j.booked(), offWord(j.Off), j.Profile)
	}
	text := fmt.Sprintf("RUN %s %s, %s in %s", j.Profile, j.Name, lengthText(j.Length, sys), hours(j.Hours))
	if j.Rate > 0 {
		text += fmt.Sprintf(" (%s/h)", lengthText(quantity.Length(j.Rate), sys))
	}
	if j.Strands > 1 {
		text += fmt.Sprintf(", %d strands", j.Strands)
	}
	return day + text + fmt.Sprintf("; pellets %s %s, of which scrap %s", j.Grade, massText(j.Pellets, sys), massText(j.Scrap, sys))
}

// booked is the time that the plan counts for a changeover, where that is more than it takes.
func (j Job) booked() string {
	if j.Booked <= 0 {
		return ""
	}
	return ", booked as " + hours(j.Booked)
}

func hours(h quantity.Hours) string { return view.Figure(float64(h), 1) + "\u00a0h" }

// lengthText and massText are amounts with their unit whose parts stay together when a line is broken.
func lengthText(l quantity.Length, sys quantity.System) string {
	u := quantity.DefaultUnit(quantity.KindLength, sys)
	return together(view.Figure(u.FromStored(float64(l)), 0), u)
}

func massText(m quantity.Mass, sys quantity.System) string {
	u := quantity.DefaultUnit(quantity.KindMass, sys)
	return together(view.Figure(u.FromStored(float64(m)), 0), u)
}

func together(number string, u quantity.Unit) string {
	return strings.ReplaceAll(number+" "+u.Symbol, " ", "\u00a0")
}

func orNone(family string) string {
	if family == "" {
		return "none"
	}
	return family
}

func offWord(off string) string {
	if off == "" {
		return "no die to take off"
	}
	return off + " off"
}

// sums is the pellets to bring and the hours left.
func (s Sheet) sums(sys quantity.System) string {
	var parts []string
	for _, n := range s.Pellets {
		parts = append(parts, fmt.Sprintf("%s %s", n.Grade, massText(n.Mass, sys)))
	}
	if len(parts) == 0 {
		parts = []string{"none"}
	}
	return fmt.Sprintf("Pellets to bring: %s. Crewed hours without work: %s of %s.", strings.Join(parts, ", "), hours(s.Left), hours(s.Available))
}

func unitOf(k quantity.Kind, sys quantity.System) string { return quantity.DefaultUnit(k, sys).Symbol }

const width = 80

// wrapped breaks a text at blanks; what follows is set in under the first words.
func wrapped(text string) []string {
	const indent = "    "
	var list []string
	line := ""
	for _, word := range strings.Split(text, " ") {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > width {
			list = append(list, strings.TrimRight(line, " "))
			line = indent + word
			continue
		}
		if line == "" && len(list) == 0 {
			line = word
			if word == "" {
				line = " "
			}
			continue
		}
		line += " " + word
	}
	return append(list, strings.TrimRight(line, " "))
}

// clean drops control characters.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == unicode.ReplacementChar {
			return -1
		}
		return r
	}, s)
}
