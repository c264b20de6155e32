package html

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"feedline/cmd/internal/report/chart"
	"feedline/cmd/internal/report/reporttest"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/yield"
)

func write(t *testing.T, in *planner.Input, p *planner.Plan, opt Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, in, p, opt); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// controls is a chart of the flow widths of NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.
func controls() []chart.Control {
	x := []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	c := chart.Control{Title: "Flow <rate>", Unit: "mL", Decimals: 1, Values: x}
	for i := range x {
		c.Days = append(c.Days, reporttest.Monday+calendar.Day(i))
	}
	c.Limits, _ = yield.IndividualsLimits(x)
	return []chart.Control{c, {Title: "empty"}}
}

// pages are pages of all sorts of plans.
func pages(t *testing.T) map[string]string {
	list := map[string]string{}
	in, p := reporttest.Full()
	list["full"] = write(t, in, p, Options{Number: 7, Controls: controls()})
	likely := reporttest.Forecast(p)
	list["forecast"] = write(t, in, p, Options{Number: 7, Forecast: likely})
	list["forecast in US units"] = write(t, in, p, Options{Units: quantity.US, Forecast: likely})
	list["us"] = write(t, in, p, Options{Units: quantity.US, Moved: true})
	in, p = reporttest.Hostile()
	list["hostile"] = write(t, in, p, Options{})
	list["empty"] = write(t, &planner.Input{}, &planner.Plan{}, Options{})
	for _, x := range reporttest.OddFigures {
		in, p = reporttest.Odd(x)
		list[fmt.Sprintf("all %v", x)] = write(t, in, p, Options{})
	}
	return list
}

// void are the elements without an end.
var void = []string{"meta", "br", "img", "hr", "input", "link"}

// TestWellFormed: elements end in the order in which they began, ids are unique and those referred to are there.
func TestWellFormed(t *testing.T) {
	for name, page := range pages(t) {
		var open []string
		ids, refs := map[string]int{}, []string{}
		z := html.NewTokenizer(strings.NewReader(page))
		for {
			kind := z.Next()
			if kind == html.ErrorToken {
				break
			}
			tok := z.Token()
			for _, a := range tok.Attr {
				switch a.Key {
				case "id":
					ids[a.Val]++
				case "aria-labelledby":
					refs = append(refs, strings.Fields(a.Val)...)
				case "href":
					refs = append(refs, strings.TrimPrefix(a.Val, "#"))
				}
			}
			switch {
			case kind == html.StartTagToken && !slices.Contains(void, tok.Data):
				open = append(open, tok.Data)
			case kind == html.EndTagToken:
				if len(open) == 0 || open[len(open)-1] != tok.Data {
					t.Fatalf("%s: </%s> while %v are open", name, tok.Data, open)
				}
				open = open[:len(open)-1]
			}
		}
		if len(open) > 0 {
			t.Errorf("%s: %v are not closed", name, open)
		}
		for id, n := range ids {
			if n > 1 {
				t.Errorf("%s: id %q %d times", name, id, n)
			}
		}
		for _, r := range refs {
			if ids[r] == 0 {
				t.Errorf("%s: nothing has the id %q", name, r)
			}
		}
	}
}

// walk calls f for every element.
func walk(n *html.Node, f func(*html.Node)) {
	if n.Type == html.ElementNode {
		f(n)
	}
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		walk(c, f)
	}
}

func attr(n *html.Node, key string) (string, bool) {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val, true
		}
	}
	return "", false
}

func child(n *html.Node, name string) *html.Node {
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		if c.Type == html.ElementNode && c.Data == name {
			return c
		}
	}
	return nil
}

// allowed are the elements and attributes of a page; whatever else stands in it came out of a name.
var (
	allowed = strings.Fields(`html head meta title style body header main footer nav section h1 h2 h3 p a dl dt dd div figure figcaption ul li
		table caption thead tbody tfoot tr th td span strong br svg g path text desc rect circle`)
	allowedAttr = strings.Fields(`lang charset name content id class aria-label aria-labelledby aria-hidden focusable role tabindex href scope viewBox width height xmlns
		transform d style x y cx cy r`)
)

// TestContents: nothing from elsewhere, nothing that runs, names stay names; every table has heads with a scope and a caption, every
// chart a role, a title and a description; no figure that is none is shown.
func TestContents(t *testing.T) {
	for name, page := range pages(t) {
		doc, err := html.Parse(strings.NewReader(page))
		if err != nil {
			t.Fatal(err)
		}
		charts, tables := 0, 0
		walk(doc, func(n *html.Node) {
			if !slices.Contains(allowed, n.Data) {
				t.Errorf("%s: element %s", name, n.Data)
			}
			for _, a := range n.Attr {
				if !slices.Contains(allowedAttr, a.Key) {
					t.Errorf("%s: attribute %s of %s", name, a.Key, n.Data)
				}
				if a.Key == "href" && !strings.HasPrefix(a.Val, "#") || strings.Contains(a.Val, "url(") {
					t.Errorf("%s: %s leads out of the page: %q", name, n.Data, a.Val)
				}
			}
			switch n.Data {
			case "html":
				if lang, _ := attr(n, "lang"); lang != "en" {
					t.Errorf("%s: lang %q", name, lang)
				}
			case "th":
				if scope, _ := attr(n, "scope"); scope != "col" && scope != "row" {
					t.Errorf("%s: a heading with the scope %q", name, scope)
				}
			case "table":
				tables++
				if child(n, "caption") == nil || child(n, "thead") == nil {
					t.Errorf("%s: a table without a caption or heads", name)
				}
			case "svg":
				if hidden, _ := attr(n, "aria-hidden"); hidden == "true" {
					return
				}
				charts++
				role, _ := attr(n, "role")
				title, desc := child(n, "title"), child(n, "desc")
				if role != "img" || title == nil || title.FirstChild == nil || desc == nil || desc.FirstChild == nil {
					t.Errorf("%s: a chart with role %q, title %v, description %v", name, role, title, desc)
				}
			}
		})
		if name == "full" && (charts != 8 || tables < 10) {
			t.Errorf("%s: %d charts and %d tables, want 2 of need and have, 4 of the plan, 2 of records, and 10 tables or more", name, charts, tables)
		}
		body := page[strings.Index(page, "</style>"):]
		if m := regexp.MustCompile(`.{0,40}(NaN|[+-]Inf\b).{0,20}`).FindString(body); m != "" {
			t.Errorf("%s: shows %q", name, m)
		}
		if strings.Contains(body, "ZgotmplZ") || strings.Contains(page[:strings.Index(page, "</style>")], "ZgotmplZ") {
			t.Errorf("%s: the template refused a value", name)
		}
	}
}

// TestSVG: charts are XML, draw with the page's colours alone, and leave their fonts to it.
func TestSVG(t *testing.T) {
	in, p := reporttest.Hostile()
	for _, f := range chart.All(in, p, chart.Options{Controls: controls()}) {
		d := xml.NewDecoder(strings.NewReader(string(f.SVG)))
		d.Strict = true
		for {
			if _, err := d.Token(); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", f.ID, err)
			}
		}
		if m := regexp.MustCompile(`(?:#[0-9A-Fa-f]{6}|rgb|Liberation|font-family)`).FindString(string(f.SVG)); m != "" {
			t.Errorf("%s: has %s of its own", f.ID, m)
		}
		if !strings.Contains(string(f.SVG), "var(--") {
			t.Errorf("%s: no colour of the page", f.ID)
		}
	}
}

// luminance and contrast are WCAG 2.1's relative luminance and contrast ratio (https://www.w3.org/TR/WCAG21/#dfn-contrast-ratio).
func luminance(hex string) float64 {
	if len(hex) == 4 {
		hex = "#" + strings.Repeat(hex[1:2], 2) + strings.Repeat(hex[2:3], 2) + strings.Repeat(hex[3:4], 2)
	}
	var rgb [3]int
	fmt.Sscanf(hex, "#%02x%02x%02x", &rgb[0], &rgb[1], &rgb[2])
	sum := 0.0
	for i, w := range []float64{0.2126, 0.7152, 0.0722} {
		c := float64(rgb[i]) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += w * c
	}
	return sum
}

func contrast(a, b string) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// TestContrast: WCAG 2.1 asks for 4.5 for text (1.4.3) and 3 for what is drawn (1.4.11); in light, dark and print.
func TestContrast(t *testing.T) {
	if c := contrast("#777777", "#ffffff"); math.Abs(c-4.48) > 0.005 { // WebAIM's contrast checker, from memory: #777 on white is 4.48
		t.Fatalf("contrast of #777 on white is %.3f, want 4.48", c)
	}
	blocks := regexp.MustCompile(`(?s):root \{(.*?)\}`).FindAllStringSubmatch(string(CSS()), -1)
	if len(blocks) != 3 {
		t.Fatalf("%d sets of colours, want light, dark and print", len(blocks))
	}
	for i, b := range blocks {
		colours := map[string]string{}
		for _, m := range regexp.MustCompile(`--([a-z0-9]+): (#[0-9a-f]+);`).FindAllStringSubmatch(b[1], -1) {
			colours[m[1]] = m[2]
		}
		for name, least := range map[string]float64{"ink": 4.5, "muted": 4.5, "act": 4.5, "c1": 3, "c2": 4.5, "c3": 3, "c4": 3, "c5": 3, "c6": 3} {
			if c := contrast(colours[name], colours["paper"]); !(c >= least) {
				t.Errorf("set %d: %s %s on %s has a contrast of %.2f, want %.1f", i, name, colours[name], colours["paper"], c, least)
			}
		}
	}
}

// TestForecastIsShown looks for the fans and the risk of a forecast, and that there is no section without one.
func TestForecastIsShown(t *testing.T) {
	in, p := reporttest.Full()
	without, with := write(t, in, p, Options{}), write(t, in, p, Options{Forecast: reporttest.Forecast(p)})
	for _, id := range []string{"fan-metres", "fan-margin", "fan-cover", "fan-lines", "fan-late", "How sure that is", "Chance of having run short"} {
		if strings.Contains(without, id) || !strings.Contains(with, id) {
			t.Errorf("%q: %v without a forecast, %v with", id, strings.Contains(without, id), strings.Contains(with, id))
		}
	}
}
