package console

import (
	"testing"

	"github.com/gdamore/tcell/v2"
)

// TestColoursOfTheOtherTable: only the table with the keyboard has a row in reverse; in the others a coloured cell of the selected row
// keeps its colour on the terminal's own background.
func TestColoursOfTheOtherTable(t *testing.T) {
	for _, x := range screens {
		s := perform(t, setting{first: x.Name, look: Look{Colour: true}})
		for range 3 {
			cells, width, _ := s.screen.GetContents()
			for y := 2; y < 22; y++ {
				mark := ""
				for at := range width {
					c := cells[y*width+at]
					if at == 0 && len(c.Runes) > 0 {
						mark = string(c.Runes[0])
					}
					_, bg, attr := c.Style.Decompose()
					if mark == "▹" && (bg != tcell.ColorDefault || attr&tcell.AttrReverse != 0) {
						t.Errorf("%s: the row of the table without the keyboard is coloured at column %d:\n%s", x.Name, at, s.text())
						return
					}
				}
			}
			s.press("Tab")
		}
	}
}
