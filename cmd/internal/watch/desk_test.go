package watch

import (
	"context"
	"encoding/json"
	"encoding/pem"
	"encoding/xml"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/demo"
	"feedline/cmd/internal/watch/alert"
	"feedline/cmd/internal/watch/notify"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/audit"
	"feedline/planner/forecast"
)

// aDesk is a desk on a book with the demonstration plant and a plan made by hand, in which white runs short.
func aDesk(t *testing.T) (*Desk, *handClock) {
	t.Helper()
	b, err := book.Open(newBook(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	monday := calendar.Date(2027, 1, 4)
	v, err := b.Save(bg, demo.Input(monday), book.SaveOptions{})
	if err != nil {
		t.Fatal(err)
	}
	p := &planner.Plan{Start: monday, Buckets: []calendar.Bucket{{Span: calendar.Span{From: monday, To: monday + 1}}}, LinesToRun: []int{1},
		Shortages: []planner.Shortage{{Grade: "WH", First: monday + 30, LastsTill: monday + 31, MassIn4Weeks: 12000}},
		OrderBy:   []planner.OrderBy{{Grade: "WH", Lane: "WH-ROAD", Loads: 2, By: monday + 5, Mass: 44000, Needed: monday + 30}}}
	if _, err := b.SavePlan(bg, p, book.PlanMeta{Input: v}); err != nil {
		t.Fatal(err)
	}
	clock := &handClock{now: time.Date(2027, 1, 4, 6, 0, 0, 0, time.UTC)}
	d := &Desk{Book: b, Config: Defaults(), Clock: clock, Getenv: func(name string) string { return map[string]string{"HOOK": "key"}[name] }}
	return d, clock
}

// hook is a server that keeps what it is sent, and answers with a code.
func hook(t *testing.T, d *Desk, code *int) *[]notify.Message {
	t.Helper()
	var got []notify.Message
	s := httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		var m notify.Message
		if err := json.Unmarshal(body, &m); err != nil {
			t.Errorf("%s: %v", body, err)
		}
		if *code < 300 {
			got = append(got, m)
		}
		w.WriteHeader(*code)
	}))
	t.Cleanup(s.Close)
	ca := filepath.Join(t.TempDir(), "ca.pem")
	if err := os.WriteFile(ca, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: s.Certificate().Raw}), 0o600); err != nil {
		t.Fatal(err)
	}
	d.Config.Webhooks = []notify.Hook{{URL: s.URL, SecretEnv: "HOOK", CAFile: ca}}
	return &got
}

func deliver(t *testing.T, d *Desk) (sent int) {
	t.Helper()
	sent, trouble, err := d.Deliver(bg)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range trouble {
		t.Log(x)
	}
	return sent
}

// What a plan shows reaches a webhook and a file, once; a server that is down is tried again with growing waits, nothing being lost.
func TestAlertsAreDelivered(t *testing.T) {
	d, clock := aDesk(t)
	code := 503
	got := hook(t, d, &code)
	d.Config.File.Path = filepath.Join(t.TempDir(), "alerts.jsonl")
	word, err := d.remind(bg, Run{})
	if err != nil || !strings.Contains(word, "1 raised") {
		t.Fatalf("%q, %v", word, err)
	}
	if sent := deliver(t, d); sent != 1 {
		t.Errorf("%d sent, want the file's alone while the server is down", sent)
	}
	if sent := deliver(t, d); sent != 0 {
		t.Errorf("%d sent at once again", sent)
	}
	code = 200
	clock.set(clock.Now().Add(31 * time.Second))
	if sent := deliver(t, d); sent != 1 || len(*got) != 1 {
		t.Fatalf("%d sent, the server has %d", sent, len(*got))
	}
	m := (*got)[0]
	for _, want := range []string{"WH", "2 loads", "2027-01-09", "why:", "do:", "feedline alerts ack"} {
		if !strings.Contains(m.Subject+m.Text, want) {
			t.Errorf("%q is not in the message:\n%s\n%s", want, m.Subject, m.Text)
		}
	}
	var alerts []alert.Alert
	if err := json.Unmarshal(m.Alerts, &alerts); err != nil || len(alerts) != 1 || alerts[0].ID == 0 || alerts[0].ByDay != "2027-01-09" {
		t.Errorf("alerts %s, %v", m.Alerts, err)
	}
	for range 3 { // the same looks again
		if _, err := d.remind(bg, Run{}); err != nil {
			t.Fatal(err)
		}
	}
	if sent := deliver(t, d); sent != 0 {
		t.Errorf("%d messages about what was told already", sent)
	}
	list, err := d.Book.Deeds(bg)
	if err != nil {
		t.Fatal(err)
	}
	raised := 0
	for _, x := range list {
		if x.Deed == "alert raised" {
			raised++
		}
	}
	if raised != 1 {
		t.Errorf("raised %d times in the log", raised)
	}
}

// Messages that do not arrive for a quarter of an hour are one alert, which is in the status and goes by the other ways; it is cleared when one arrives.
func TestUndeliveredIsAnAlert(t *testing.T) {
	d, clock := aDesk(t)
	code := 503
	hook(t, d, &code)
	if _, err := d.remind(bg, Run{}); err != nil {
		t.Fatal(err)
	}
	open := func() (keys []string) {
		t.Helper()
		list, err := d.Book.Alerts(bg, true, 10)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range list {
			if strings.HasPrefix(a.Key, alert.Job) {
				keys = append(keys, a.Key)
			}
		}
		return keys
	}
	for try := 1; try <= silentTries+2; try++ {
		deliver(t, d)
		if got := open(); len(got) != count(try >= silentTries) || len(d.Unreached()) != len(got) {
			t.Fatalf("after %d tries: alerts %q, status %q", try, got, d.Unreached())
		}
		clock.set(clock.Now().Add(4 * time.Hour))
	}
	if got, say := open()[0], d.Unreached()[0]; got != "job/webhook at "+Host(d.Config.Webhooks[0].URL) || !strings.Contains(say, "503") {
		t.Errorf("alert %q, status %q", got, say)
	}
	if w := (Health{Beat: clock.Now(), BeatS: 30, Unsent: d.Unreached()}).Verdict(true, clock.Now()); len(w) != 1 {
		t.Errorf("status %q, want one fault", w)
	}
	code = 200
	deliver(t, d)
	if got := open(); len(got) != 0 || len(d.Unreached()) != 0 {
		t.Errorf("after one arrived: alerts %q, status %q", got, d.Unreached())
	}
	code = 404 // for good
	if _, err := d.tell(bg, []alert.Finding{{Kind: alert.Late, Subject: "O-1", What: "order O-1 is late"}}, []string{alert.Late}, d.Config.Alerts); err != nil {
		t.Fatal(err)
	}
	deliver(t, d)
	if got := open(); len(got) != 1 {
		t.Errorf("alerts %q after a message was given up, want one", got)
	}
	d.Config.Webhooks = nil // what waits for it is missed by nobody
	deliver(t, d)
	if got := open(); len(got) != 1 {
		t.Errorf("alerts %q after what waited for it was dropped, want the one before", got)
	}
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

// A message to an address that is no longer in the configuration is given up, not sent.
func TestNobodyIsCalledWhoIsNotNamed(t *testing.T) {
	d, _ := aDesk(t)
	code := 200
	got := hook(t, d, &code)
	if _, err := d.remind(bg, Run{}); err != nil {
		t.Fatal(err)
	}
	d.Config.Webhooks = nil
	if sent := deliver(t, d); sent != 0 || len(*got) != 0 {
		t.Errorf("%d sent, the server has %d", sent, len(*got))
	}
	if left, err := d.Book.Outbox(bg); err != nil || len(left) != 0 {
		t.Errorf("%d messages wait, %v", len(left), err)
	}
}

// A job that fails raises an alert, which its success clears; other jobs do not.
func TestFailedJobIsAnAlert(t *testing.T) {
	d, _ := aDesk(t)
	ended := func(name, outcome string) {
		t.Helper()
		if err := d.Ended(bg, book.JobState{Name: name, Outcome: outcome, Word: "the disk is full"}); err != nil {
			t.Fatal(err)
		}
	}
	open := func() (keys []string) {
		t.Helper()
		list, err := d.Book.Alerts(bg, true, 10)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range list {
			keys = append(keys, a.Key)
		}
		return keys
	}
	ended("backup", "failed")
	ended("backup", "failed")
	ended("plan", "done")
	if got := open(); len(got) != 1 || got[0] != "job/backup" {
		t.Errorf("open %q", got)
	}
	ended("backup", "done")
	if got := open(); len(got) != 0 {
		t.Errorf("open %q after it went well", got)
	}
}

func TestDigestGoesToThoseWhoWantIt(t *testing.T) {
	d, _ := aDesk(t)
	d.Config.SMTP.Host = "mail.plant.example"
	d.Config.To = []Recipient{{Name: "Anna", Email: "anna@plant.example", Digest: true, Alerts: []string{alert.OrderBy}}, {Name: "Ben", Email: "ben@plant.example"}}
	if _, err := d.remind(bg, Run{}); err != nil {
		t.Fatal(err)
	}
	if word, err := d.digest(bg, Run{}); err != nil || word != "1 recipients" {
		t.Fatalf("%q, %v", word, err)
	}
	list, err := d.Book.Outbox(bg)
	if err != nil {
		t.Fatal(err)
	}
	var m notify.Message
	if err := json.Unmarshal(list[len(list)-1].Body, &m); err != nil || m.To != "anna@plant.example" {
		t.Fatalf("%+v, %v", m, err)
	}
	for _, want := range []string{"Good morning, Anna", "Plan 1", "Open alerts", "WH-ROAD"} {
		if !strings.Contains(m.Text, want) {
			t.Errorf("%q is not in the digest:\n%s", want, m.Text)
		}
	}
}

func TestBackupAndCheckJobs(t *testing.T) {
	d, _ := aDesk(t)
	word, err := d.backup(bg, Run{})
	if err != nil || !strings.HasSuffix(word, ".book") {
		t.Errorf("%q, %v", word, err)
	}
	if word, err := d.check(bg, Run{}); err != nil || !strings.HasPrefix(word, "whole: ") {
		t.Errorf("%q, %v", word, err)
	}
}

// A forecast is kept with the plan that it is of; one that was stopped is not, and a plan of another book is no fault of the job.
func TestForecastJobIsKept(t *testing.T) {
	d, _ := aDesk(t)
	_, meta, err := d.Book.LastPlan(bg)
	if err != nil {
		t.Fatal(err)
	}
	made, fault := &forecast.Result{Asked: 200, Runs: 90, TotalMargin: forecast.Band{P10: 1000, P90: 2000}}, error(nil)
	d.Forecast = func(context.Context, *planner.Input, *planner.Plan) (*forecast.Result, error) { return made, fault }
	if word, err := d.forecast(bg, Run{}); err == nil || !strings.Contains(err.Error(), "90 of 200") {
		t.Errorf("stopped: %q, %v", word, err)
	}
	if r, err := d.Book.Forecast(bg, meta.ID); r != nil || err != nil {
		t.Errorf("kept though it was stopped: %+v, %v", r, err)
	}
	made.Runs = 199
	made.Failed = 1
	word, err := d.forecast(bg, Run{})
	if err != nil || !strings.HasPrefix(word, "margin 1000 to 2000") {
		t.Errorf("%q, %v", word, err)
	}
	if r, err := d.Book.Forecast(bg, meta.ID); err != nil || r == nil || r.Runs != 199 || r.TotalMargin.P90 != 2000 {
		t.Errorf("kept %+v, %v", r, err)
	}
	fault = fmt.Errorf("line L9: %w", planner.ErrOtherBook)
	if word, err := d.forecast(bg, Run{}); err != nil || !strings.Contains(word, "until the next plan") {
		t.Errorf("another book: %q, %v", word, err)
	}
}

func TestExampleIsTheDefaults(t *testing.T) {
	c, err := parseConfig("watch.toml", Example)
	if err != nil {
		t.Fatal(err)
	}
	want, _ := json.Marshal(Defaults())
	got, _ := json.Marshal(c)
	if string(want) != string(got) {
		t.Errorf("the example gives\n%s\nthe defaults are\n%s", got, want)
	}
	full := regexp.MustCompile(`(?m)^# (\[|\w+ += )`).ReplaceAllString(Example, "$1") // what is behind # is right as well
	c, err = parseConfig("watch.toml", full)
	if err != nil || len(c.To) != 1 || len(c.Webhooks) != 1 || c.SMTP.Host == "" || c.File.Path == "" {
		t.Errorf("with all that is behind #: %+v, %v", c, err)
	}
}

func TestWrongConfigurations(t *testing.T) {
	for text, want := range map[string]string{
		"[schedule]\nplan = \"* *\"":                        "schedule.plan: schedule \"* *\" can't be read",
		"[schedule]\nplam = \"@daily\"":                     "schedule.plam: there is no such setting",
		"[plan]\ntime = \"fast\"":                           "no length of time",
		"[plan]\ntime = \"1ms\"":                            "plan.time = 1ms, allowed: 1s to 12h",
		"[plan]\ngap = -1.0":                                "plan.gap = -1, allowed: 0 to 100",
		"[plan]\ngap = nan":                                 "plan.gap",
		"[backup]\nkeep = 0":                                "backup.keep = 0, allowed: 1 to 10000",
		"[smtp]\nhost = \"h\"\npassword = \"x\"":            "smtp.password: a secret must not stand in this file",
		"[[webhook]]\nurl = \"https://h/\"\nsecret = \"x\"": "secret must not stand in this file",
		"[[webhook]]\nurl = \"http://h/\"":                  "webhook[1].url must begin with https://",
		"[[webhook]]\nurl = \"https://h/\"":                 "webhook[1].secret_file or secret_env is missing",
		"[[to]]\nname = \"A\"\nemail = \"a@b\"":             "smtp.host is missing",
		"[[to]]\nname = \"A\"\nemail = \"a\\r\\nBcc: x@y\"": "is no address",
		"[[to]]\nname = \"A\"\nalerts = [\"weather\"]":      "there is no kind \"weather\"",
		"[[to]]\nname = \"Anna\"\ndigest = true":            "to[1].email: the address is missing",
		"[alerts]\nmargin = -1.0":                           "alerts.margin = -1, allowed: 0 to 10",
		"[alerts":                                           "line 1:",
		"x = 1":                                             "x: there is no such setting",
	} {
		_, err := parseConfig("watch.toml", text)
		e, ok := err.(*ConfigError)
		if !ok || !strings.Contains(err.Error(), want) || e.Hint() == "" {
			t.Errorf("%q:\n got %v\nwant %s", text, err, want)
		}
	}
}

// FuzzConfig: no file makes the reader panic, and what it takes has schedules that can be read.
func FuzzConfig(f *testing.F) {
	f.Add(Example)
	f.Add("[[to]]\nname=\"a\"\n[smtp]\nhost='x'\nfrom='a@b'")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := parseConfig("watch.toml", text)
		if err != nil {
			return
		}
		for _, x := range c.Schedule.list() {
			if _, err := ParseSchedule(x[1]); err != nil {
				t.Fatalf("%s: %v", x[0], err)
			}
		}
	})
}

// The unit file is judged by systemd's own tool where there is one, the task by Go's reader of XML.
func TestServices(t *testing.T) {
	s := Service{Program: "/bin/true", Book: `/srv/the plant/100% "best" & co/plant.book`, Config: "/etc/feedline/watch.toml", User: "root"}
	unit := s.Systemd()
	if !strings.Contains(unit, `"/srv/the plant/100%% \"best\" & co/plant.book"`) {
		t.Errorf("the book's name is not quoted:\n%s", unit)
	}
	if tool, err := exec.LookPath("systemd-analyze"); err == nil {
		s.Book = "/tmp/plant.book"
		file := filepath.Join(t.TempDir(), "feedline-watch.service")
		if err := os.WriteFile(file, []byte(s.Systemd()), 0o644); err != nil {
			t.Fatal(err)
		}
		if out, err := exec.Command(tool, "verify", "--man=no", file).CombinedOutput(); err != nil {
			t.Errorf("%v\n%s", err, out)
		}
	}
	s.Book = `C:\the plant\<&>\plant.book`
	var task struct {
		Actions struct {
			Exec struct{ Command, Arguments string }
		}
	}
	if err := xml.Unmarshal([]byte(s.Windows()), &task); err != nil || !strings.Contains(task.Actions.Exec.Arguments, `--book "C:\the plant\<&>\plant.book"`) {
		t.Errorf("task %+v, %v", task, err)
	}
	for in, want := range map[string]string{`a b\`: `"a b\\"`, `a"b c`: `"a\"b c"`, `plain\x`: `plain\x`} { // the rules of CommandLineToArgvW
		if got := windowsQuote(in); got != want {
			t.Errorf("%s: %s, want %s", in, got, want)
		}
	}
}

// A plan that the watch makes is held against the released one as any other: its frozen days are kept or told, and it says which plan that was.
func TestPlansAreHeldAgainstThePromise(t *testing.T) {
	d, clock := aDesk(t)
	in, v, err := d.Book.LoadForPlan(bg, book.PlanOptions{})
	if err != nil {
		t.Fatal(err)
	}
	in.Plant.Weeks, in.Plant.DailyDays = 3, 14
	if _, err := d.Book.Save(bg, in, book.SaveOptions{Expect: v}); err != nil {
		t.Fatal(err)
	}
	d.Config.Plan.Work = 5_000_000
	plan := func() (*planner.Plan, book.PlanMeta) {
		t.Helper()
		if _, err := d.plan(bg, Run{Reason: "test"}); err != nil {
			t.Fatal(err)
		}
		p, meta, err := d.Book.LastPlan(bg)
		if err != nil {
			t.Fatal(err)
		}
		return p, meta
	}
	first, meta := plan()
	if first.Frozen != 0 || strings.Contains(string(meta.Options), "released") {
		t.Errorf("frozen before %v, options %s without a released plan", first.Frozen, meta.Options)
	}
	if err := d.Book.Release(bg, meta.ID, "test"); err != nil {
		t.Fatal(err)
	}
	clock.set(clock.Now().AddDate(0, 0, 2))
	second, later := plan()
	if want := fmt.Sprintf(`"released":%d`, meta.ID); !strings.Contains(string(later.Options), want) {
		t.Errorf("options %s, want %s", later.Options, want)
	}
	if want := second.Start + calendar.Day(in.Plant.FrozenDays); second.Frozen != want {
		t.Errorf("frozen before %v, want %v", second.Frozen, want)
	}
	now, _, err := d.Book.LoadForPlan(bg, book.PlanOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if rep := audit.Against(now, second, first); !rep.OK() {
		t.Errorf("the audit found the plan wrong:\n%s", rep)
	}
}
