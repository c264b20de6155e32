// Package xlsx writes a plan as a workbook: the answer, and a sheet for each view with filters, totals and the formulas by which the
// figures follow from one another, so that a figure can be changed and its consequences seen. It prints on landscape pages with the
// headings on each. Names from the book are texts and never formulas.
package xlsx

import (
	"fmt"
	"io"
	"strings"

	"github.com/xuri/excelize/v2"

	"feedline/cmd/internal/report/view"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Options are those of the views.
type Options = view.Options

// workbook is a workbook being written.
type workbook struct {
	f      *excelize.File
	styles map[look]int
}

// Write writes the workbook.
func Write(w io.Writer, in *planner.Input, p *planner.Plan, opt Options) error {
	b := &workbook{f: excelize.NewFile(), styles: map[look]int{}}
	defer b.f.Close()
	if err := b.f.SetDocProps(&excelize.DocProperties{Title: view.Inert(p.Heading()), Creator: "feedline", Created: p.Made.UTC().Format("2006-01-02T15:04:05Z")}); err != nil {
		return err
	}
	if err := b.answer(in, p, opt); err != nil {
		return err
	}
	for _, t := range view.All(in, p, opt) {
		if err := b.sheet(t, p); err != nil {
			return fmt.Errorf("sheet %s: %w", t.Name, err)
		}
	}
	return b.f.Write(w)
}

// look is what a style is made of.
type look struct {
	format string // of numbers; "@" for texts
	bold   bool
	wrap   bool
	large  bool
	rule   bool // a line below
	right  bool
}

func (b *workbook) style(l look) (int, error) {
	if id, ok := b.styles[l]; ok {
		return id, nil
	}
	s := &excelize.Style{CustomNumFmt: &l.format, Font: &excelize.Font{Bold: l.bold, Size: 10}, Alignment: &excelize.Alignment{WrapText: l.wrap, Vertical: "top"}}
	switch {
	case l.right:
		s.Alignment.Horizontal = "right"
	case l.format == "@" && !l.large:
		s.Alignment.Horizontal, s.Alignment.Indent = "left", 1 // apart from a number before it
	}
	if l.large {
		s.Font.Size = 14
	}
	if l.rule {
		s.Border = []excelize.Border{{Type: "bottom", Color: "404040", Style: 1}}
	}
	id, err := b.f.NewStyle(s)
	b.styles[l] = id
	return id, err
}

// numberFormat groups thousands.
func numberFormat(decimals int) string {
	if decimals == 0 {
		return "#,##0"
	}
	return "#,##0." + strings.Repeat("0", decimals)
}

const dayFormat = "ddd d mmm yyyy"

// serial is a day as spreadsheets count them, for days after February 1900.
func serial(d calendar.Day) int { return int(d) + 25569 }

// setUp names the sheet, sets its print layout and returns its writer. Rows up to heads repeat on each page; nothing if it is 0.
func (b *workbook) setUp(name string, p *planner.Plan, first bool, heads int) (*excelize.StreamWriter, error) {
	if first {
		if err := b.f.SetSheetName(b.f.GetSheetName(0), name); err != nil {
			return nil, err
		}
	} else if _, err := b.f.NewSheet(name); err != nil {
		return nil, err
	}
	orientation, one, all, yes, margin := "landscape", 1, 0, true, 0.5
	err := b.f.SetSheetProps(name, &excelize.SheetPropsOptions{FitToPage: &yes})
	if err == nil {
		err = b.f.SetPageLayout(name, &excelize.PageLayoutOptions{Orientation: &orientation, FitToWidth: &one, FitToHeight: &all})
	}
	if err == nil {
		err = b.f.SetPageMargins(name, &excelize.PageLayoutMarginsOptions{Left: &margin, Right: &margin, Top: &margin, Bottom: &margin})
	}
	if err == nil {
		footer := "&L" + strings.ReplaceAll(view.Inert(cut(p.Heading(), 120)), "&", "&&") + "&C&A&R&P / &N"
		err = b.f.SetHeaderFooter(name, &excelize.HeaderFooterOptions{OddFooter: footer})
	}
	if err == nil && heads > 0 {
		err = b.f.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: fmt.Sprintf("'%s'!$%d:$%d", name, heads, heads), Scope: name})
	}
	if err != nil {
		return nil, err
	}
	return b.f.NewStreamWriter(name)
}

func cut(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}

// answer is the first sheet: the plan in words.
func (b *workbook) answer(in *planner.Input, p *planner.Plan, opt Options) error {
	sw, err := b.setUp("answer", p, true, 0)
	if err != nil {
		return err
	}
	title, err := b.style(look{format: "@", bold: true, large: true})
	if err != nil {
		return err
	}
	bold, err := b.style(look{format: "@", bold: true, wrap: true})
	if err != nil {
		return err
	}
	plain, err := b.style(look{format: "@", wrap: true})
	if err != nil {
		return err
	}
	if err := sw.SetColWidth(1, 1, 22); err != nil {
		return err
	}
	if err := sw.SetColWidth(2, 2, 110); err != nil {
		return err
	}
	rows := [][2]excelize.Cell{{{Value: view.Inert(p.Heading()), StyleID: title}}}
	for _, s := range view.Answer(in, p, opt) {
		rows = append(rows, [2]excelize.Cell{{Value: view.Inert(s.Head), StyleID: bold}, {Value: view.Inert(s.Text), StyleID: plain}})
	}
	for _, c := range view.Cautions {
		rows = append(rows, [2]excelize.Cell{{Value: "Caution", StyleID: bold}, {Value: c, StyleID: plain}})
	}
	for i, r := range rows {
		line := []any{r[0], r[1]}
		if i == 0 {
			line = line[:1] // the title runs on over the next column
		}
		const charactersALine, points = 115, 14
		text, _ := r[1].Value.(string)
		height := float64(points * (1 + len([]rune(text))/charactersALine))
		if i == 0 {
			height = 20
		}
		if err := sw.SetRow(fmt.Sprintf("A%d", i+1), line, excelize.RowOpts{Height: height}); err != nil {
			return err
		}
	}
	return sw.Flush()
}
