package html

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"feedline/cmd/internal/report/chart"
)

// browser is a headless Chromium, which CI must have.
func browser(t *testing.T) func(args ...string) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		path, err := exec.LookPath(name)
		if err != nil {
			continue
		}
		profile := t.TempDir()
		return func(args ...string) string {
			t.Helper()
			all := append([]string{"--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--no-first-run", "--user-data-dir=" + profile,
				"--host-resolver-rules=MAP * ~NOTFOUND"}, args...)
			out, err := exec.Command(path, all...).Output()
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			return string(out)
		}
	}
	if os.Getenv("FEEDLINE_CI") != "" {
		t.Fatal("chromium is missing")
	}
	t.Skip("no chromium")
	return nil
}

// measured is a script for a copy of the page: what the browser makes of it, in the body's data-found.
const measured = `<script>document.body.dataset.found = [document.documentElement.scrollWidth - innerWidth,
[...document.querySelectorAll("svg[role=img]")].filter(s => s.getBoundingClientRect().height < 40).length,
document.querySelectorAll("svg[role=img]").length, performance.getEntriesByType("resource").length,
getComputedStyle(document.body).backgroundColor, document.querySelectorAll("section h2").length].join("|")</script></body>`

// TestInABrowser: on a desk's screen and on a telephone's nothing sticks out sideways, every chart is drawn, nothing is fetched, and dark
// is dark.
func TestInABrowser(t *testing.T) {
	chromium := browser(t)
	in, p, r := learned()
	page := write(t, in, p, Options{Number: 7, Records: r, Controls: chart.Watched(*r, 8)})
	path := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(path, []byte(strings.Replace(page, "</body>", measured, 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		size string
		dark bool
	}{{"1280,900", false}, {"500,900", false}, {"1280,900", true}} {
		args := []string{"--window-size=" + x.size, "--dump-dom", "file://" + path}
		if x.dark {
			args = append([]string{"--blink-settings=preferredColorScheme=0"}, args...)
		}
		m := regexp.MustCompile(`data-found="([^"]*)"`).FindStringSubmatch(chromium(args...))
		if m == nil {
			t.Fatalf("%s: the page was not measured", x.size)
		}
		found := strings.Split(m[1], "|")
		if n, err := strconv.Atoi(found[0]); err != nil || n > 0 {
			t.Errorf("%s: the page sticks out by %s px", x.size, found[0])
		}
		if found[1] != "0" || found[2] == "0" || found[3] != "0" || found[5] == "0" {
			t.Errorf("%s: %s of %s charts are flat, %s things fetched, %s sections", x.size, found[1], found[2], found[3], found[5])
		}
		if dark := found[4] == "rgb(22, 24, 26)"; dark != x.dark {
			t.Errorf("dark %v: the paper is %s", x.dark, found[4])
		}
	}
}

// TestInPrint: printed on A4 and on Letter the page has that size and several sheets, and its words are there.
func TestInPrint(t *testing.T) {
	chromium := browser(t)
	in, p, r := learned()
	page := write(t, in, p, Options{Number: 7, Records: r, Controls: chart.Watched(*r, 8)})
	for name, box := range map[string][2]float64{"A4": {595, 842}, "Letter": {612, 792}} {
		dir := t.TempDir()
		path, out := filepath.Join(dir, "page.html"), filepath.Join(dir, "page.pdf")
		if err := os.WriteFile(path, []byte(strings.Replace(page, "@page {", "@page { size: "+name+";", 1)), 0o644); err != nil {
			t.Fatal(err)
		}
		chromium("--no-pdf-header-footer", "--print-to-pdf="+out, "file://"+path)
		pdf, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		boxes := regexp.MustCompile(`/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]`).FindAllStringSubmatch(string(pdf), -1)
		if len(boxes) < 3 || len(boxes) > 40 {
			t.Errorf("%s: %d sheets", name, len(boxes))
		}
		for _, b := range boxes {
			var w, h float64
			_, _ = fmt.Sscan(b[1]+" "+b[2], &w, &h)
			if w < box[0]-1 || w > box[0]+1 || h < box[1]-1 || h > box[1]+1 {
				t.Errorf("%s: a sheet of %s × %s points", name, b[1], b[2])
			}
		}
		if tool, err := exec.LookPath("pdftotext"); err == nil {
			words, err := exec.Command(tool, out, "-").Output()
			for _, want := range []string{"The answer", "What the records say", "0.931"} {
				if err != nil || !strings.Contains(string(words), want) {
					t.Errorf("%s: %q is not on paper, %v", name, want, err)
				}
			}
		}
	}
}
