package console

import (
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"feedline/cmd/internal/console/rows"
)

// screen is one of the screens: its page and its keys.
type screen struct {
	rows.Screen
	bindings []binding
}

// view shows a screen: what it says in words, then its panes one below the other.
type view struct {
	*tview.Box
	screen
	look  Look
	grids map[string]*grid
	focus string // name of the table with the keyboard
	page  rows.Page
	of    *rows.Facts // that the page was made of
	at    string      // place that it was made for
}

func newView(s screen, look Look) *view {
	return &view{Box: tview.NewBox(), screen: s, look: look, grids: map[string]*grid{}}
}

// show makes the page for the facts, unless it is there already.
func (v *view) show(f *rows.Facts) {
	at := v.placeKey()
	if v.of == f && v.at == at {
		return
	}
	v.page = v.Page(f, v.place())
	v.of = f
	for _, p := range v.page.Panes {
		if p.Table == nil {
			continue
		}
		g := v.grids[p.Table.Name]
		if g == nil {
			g = newGrid(p.Table.Name, v.look)
			v.grids[p.Table.Name] = g
		}
		if v.focus == "" {
			v.focus = p.Table.Name
		}
		g.set(p.Table)
	}
	v.at = v.placeKey()
	if v.at != at { // the selection was made anew, and the panes below follow it
		v.page = v.Page(f, v.place())
		for _, p := range v.page.Panes {
			if p.Table != nil {
				v.grids[p.Table.Name].set(p.Table)
			}
		}
		v.at = v.placeKey()
	}
}

// place is where the user stands in each table.
func (v *view) place() rows.Place {
	p := rows.Place{Row: map[string]string{}, Column: map[string]string{}}
	for name, g := range v.grids {
		p.Row[name], p.Column[name] = g.key, g.column
	}
	return p
}

func (v *view) placeKey() string {
	var b strings.Builder
	for _, p := range v.page.Panes {
		if p.Table != nil {
			if g := v.grids[p.Table.Name]; g != nil {
				b.WriteString(g.name + "\x00" + g.key + "\x00" + g.column + "\x01")
			}
		}
	}
	return b.String()
}

// grid is the table with the keyboard, nil if the screen has none.
func (v *view) grid() *grid { return v.grids[v.focus] }

// tables are the names of the page's tables in their order.
func (v *view) tables() (names []string) {
	for _, p := range v.page.Panes {
		if p.Table != nil {
			names = append(names, p.Table.Name)
		}
	}
	return names
}

// turn gives the keyboard to the next table, or the one before.
func (v *view) turn(by int) {
	names := v.tables()
	for i, n := range names {
		if n == v.focus {
			v.focus = names[(i+by+len(names))%len(names)]
			return
		}
	}
	if len(names) > 0 {
		v.focus = names[0]
	}
}

// Draw draws the screen into its rectangle.
func (v *view) Draw(s tcell.Screen) {
	x, y, width, height := v.GetInnerRect()
	end := y + height
	var lead []rows.Line
	for _, l := range v.page.Lead {
		lead = append(lead, rows.Wrap(l, width)...)
	}
	most := max(1, height/3)
	most = min(most, height)
	if len(lead) > most {
		lead = lead[:most]
	}
	for _, l := range lead {
		v.look.line(s, x, y, x+width, l)
		y++
	}
	focus := -1
	for i, p := range v.page.Panes {
		if p.Table != nil && p.Table.Name == v.focus {
			focus = i
		}
	}
	panes := slices.Clone(v.page.Panes)
	for i, p := range panes {
		if p.Draw != nil { // a text that has less to say leaves its rows to others
			panes[i].Want = len(p.Draw(width, p.Want))
			panes[i].Least = min(p.Least, panes[i].Want)
		}
	}
	for i, rowsGot := range stack(panes, focus, end-y) {
		if rowsGot > 0 {
			v.pane(s, panes[i], x, y, width, rowsGot, i == focus)
		}
		y += rowsGot
	}
}

func (v *view) pane(s tcell.Screen, p rows.Pane, x, y, width, height int, focus bool) {
	if p.Draw != nil {
		for i, l := range p.Draw(width, height) {
			if i < height {
				v.look.line(s, x, y+i, x+width, l)
			}
		}
		return
	}
	g := v.grids[p.Table.Name]
	g.active = focus
	tone := rows.Strong
	title := g.title()
	if height == 1 {
		title += ", " + countOf(len(g.shown.Rows)) + " (Tab)"
		tone = rows.Plain
	}
	at := v.look.line(s, x, y, x+width, rows.Line{{Text: title + " ", Tone: tone}})
	if height > 2 && height-2 < len(g.shown.Rows) {
		more := countOf(len(g.shown.Rows))
		put(s, max(at+1, x+width-len(more)), y, x+width, more, v.look.style(rows.Quiet))
		put(s, at, y, max(at, x+width-len(more)-1), strings.Repeat("─", width), v.look.style(rows.Quiet))
	} else {
		put(s, at, y, x+width, strings.Repeat("─", width), v.look.style(rows.Quiet))
	}
	if height > 1 {
		g.SetRect(x, y+1, width, height-1)
		g.Draw(s)
	}
}

func countOf(n int) string {
	if n == 1 {
		return "1 row"
	}
	return itoa(n) + " rows"
}
