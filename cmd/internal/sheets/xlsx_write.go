package sheets

import (
	"bytes"
	"strconv"

	"github.com/xuri/excelize/v2"

	"feedline/lines/calendar"
)

// book is a workbook being written.
type book struct {
	f                          *excelize.File
	head, remark, day, textual int // styles
}

// workbook is the pages as the bytes of an XLSX workbook.
func workbook(pages []page) ([]byte, error) {
	b := &book{f: excelize.NewFile()}
	defer b.f.Close()
	if err := b.styles(); err != nil {
		return nil, err
	}
	for i, p := range pages {
		if i == 0 {
			if err := b.f.SetSheetName(b.f.GetSheetName(0), p.table.name); err != nil {
				return nil, err
			}
		} else if _, err := b.f.NewSheet(p.table.name); err != nil {
			return nil, err
		}
		if err := b.write(p); err != nil {
			return nil, err
		}
	}
	var buf bytes.Buffer
	err := b.f.Write(&buf)
	return buf.Bytes(), err
}

func (b *book) styles() error {
	var errs [4]error
	iso, text := "yyyy-mm-dd", 49 // 49 is the format of a text, so that spreadsheets leave codes such as 007 alone
	b.head, errs[0] = b.f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}, NumFmt: text})
	b.remark, errs[1] = b.f.NewStyle(&excelize.Style{Font: &excelize.Font{Italic: true}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}, NumFmt: text})
	b.day, errs[2] = b.f.NewStyle(&excelize.Style{CustomNumFmt: &iso})
	b.textual, errs[3] = b.f.NewStyle(&excelize.Style{NumFmt: text})
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// write fills one sheet.
func (b *book) write(p page) error {
	sheet := p.table.name
	if err := b.columns(p); err != nil {
		return err
	}
	last := 0
	for r, line := range p.lines {
		for c, o := range line {
			if o.kind == outHead {
				last = r + 1
			}
			if err := b.put(sheet, c+1, r+1, o); err != nil {
				return err
			}
		}
	}
	return b.f.SetPanes(sheet, &excelize.Panes{Freeze: true, YSplit: last, TopLeftCell: "A" + strconv.Itoa(last+1), ActivePane: "bottomLeft"})
}

// columns sets widths, formats of blank cells and drop-down lists.
func (b *book) columns(p page) error {
	sheet := p.table.name
	if p.table.sideways {
		for i, w := range []float64{30, 24, 90} {
			if err := b.f.SetColWidth(sheet, letters(i+1), letters(i+1), w); err != nil {
				return err
			}
		}
		return nil
	}
	for i := range p.table.columns {
		c, name := &p.table.columns[i], letters(i+1)
		if err := b.f.SetColWidth(sheet, name, name, max(12, min(36, float64(len(p.table.heading(c)))+6))); err != nil {
			return err
		}
		style := 0
		switch c.kind {
		case kindDay, kindLastDay:
			style = b.day
		case kindAmount, kindNumber, kindWhole:
		default:
			style = b.textual
		}
		if style != 0 {
			if err := b.f.SetColStyle(sheet, name, style); err != nil {
				return err
			}
		}
		if err := b.choices(sheet, name, c); err != nil {
			return err
		}
	}
	return nil
}

// choices offers the words of a column; others can still be typed and are found when the sheet is read.
func (b *book) choices(sheet, name string, c *column) error {
	if c.kind != kindWord && c.kind != kindYesNo {
		return nil
	}
	v := excelize.NewDataValidation(true)
	v.Sqref = name + "2:" + name + "2000"
	if err := v.SetDropList(c.words); err != nil {
		return err
	}
	return b.f.AddDataValidation(sheet, v)
}

// put writes a cell.
func (b *book) put(sheet string, col, row int, o out) error {
	at, err := excelize.CoordinatesToCellName(col, row)
	if err != nil || o.text == "" {
		return err
	}
	style := b.textual
	switch o.kind {
	case outHead:
		style = b.head
	case outRemark:
		style = b.remark
	case outNumber:
		if numeric.MatchString(o.text) {
			return b.f.SetCellDefault(sheet, at, o.text) // with all its digits
		}
	case outDay:
		if d, err := calendar.ParseDay(o.text); err == nil && d >= firstDay && d < lastDay {
			if err := b.f.SetCellInt(sheet, at, int64(d-serialDay(0))); err != nil {
				return err
			}
			return b.f.SetCellStyle(sheet, at, at, b.day)
		}
	}
	if err := b.f.SetCellStr(sheet, at, o.text); err != nil {
		return err
	}
	return b.f.SetCellStyle(sheet, at, at, style)
}
