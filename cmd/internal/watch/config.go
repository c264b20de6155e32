package watch

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"net/mail"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/BurntSushi/toml"

	"feedline/cmd/internal/watch/alert"
	"feedline/cmd/internal/watch/notify"
)

// Config is what the watch is told in its file. The zero value of a field stands for its default, see Defaults.
type Config struct {
	Schedule Schedules     `toml:"schedule"`
	Plan     PlanConfig    `toml:"plan"`
	Backup   BackupConfig  `toml:"backup"`
	Alerts   alert.Rules   `toml:"alerts"`
	To       []Recipient   `toml:"to"`
	File     FileConfig    `toml:"file"`
	SMTP     notify.SMTP   `toml:"smtp"`
	Webhooks []notify.Hook `toml:"webhook"`
	Health   string        `toml:"health"` // health file; "" = the book's name with .health.json behind
}

// Schedules is when each job is due.
type Schedules struct {
	Plan     string `toml:"plan"`
	Digest   string `toml:"digest"`
	Reminder string `toml:"reminder"`
	Backup   string `toml:"backup"`
	Check    string `toml:"check"`
	Forecast string `toml:"forecast"`
}

// Span is a length of time as Go writes it, such as 90s or 2h.
type Span struct{ time.Duration }

// UnmarshalText reads it.
func (s *Span) UnmarshalText(text []byte) (err error) {
	s.Duration, err = time.ParseDuration(string(text))
	if err != nil {
		return fmt.Errorf("%q is no length of time; write it as 90s, 5m or 2h", text)
	}
	return nil
}

// PlanConfig steers the planning job.
type PlanConfig struct {
	Time  Span    `toml:"time"`  // longest search
	Gap   float64 `toml:"gap"`   // percent
	Work  int64   `toml:"work"`  // limit in work units instead of time; 0 = none
	Quiet Span    `toml:"quiet"` // a changed book is planned once it was left alone for so long
	Keep  int     `toml:"keep"`  // days; of the watch's plans of before, the last of each day stays and released ones; 0 = all stay
}

// BackupConfig says where backups go.
type BackupConfig struct {
	Dir  string `toml:"dir"`  // "" = the folder "backups" beside the book
	Keep int    `toml:"keep"` // so many are kept
}

// Recipient is somebody who is told.
type Recipient struct {
	Name   string   `toml:"name"`
	Email  string   `toml:"email"`
	Digest bool     `toml:"digest"`
	Alerts []string `toml:"alerts"` // kinds; none = all
}

// FileConfig names a file that a line of JSON is added to for every message; "" for none.
type FileConfig struct {
	Path string `toml:"path"`
}

// Defaults is the configuration of a watch without a file.
func Defaults() Config {
	return Config{
		Schedule: Schedules{Plan: "0 5 * * *", Digest: "30 6 * * 1-5", Reminder: "0 7 * * 1-5", Backup: "0 1 * * *", Check: "0 3 * * 0", Forecast: "30 5 * * *"},
		Plan:     PlanConfig{Time: Span{time.Minute}, Gap: 0.5, Quiet: Span{time.Minute}, Keep: 14},
		Backup:   BackupConfig{Keep: 14},
		Alerts:   alert.DefaultRules(),
	}
}

// ConfigError is something wrong with the configuration.
type ConfigError struct {
	Path    string
	Problem string // with the place
	Remedy  string
}

func (e *ConfigError) Error() string { return e.Path + ": " + e.Problem }

// Hint is what to do.
func (e *ConfigError) Hint() string {
	if e.Remedy != "" {
		return e.Remedy
	}
	return "see the explained example: feedline watch --example"
}

// largestConfig is the most bytes of a configuration.
const largestConfig = 1 << 20

// ReadConfig reads and checks a configuration. What the file leaves out has its default; relative paths are beside the file.
func ReadConfig(path string) (Config, error) {
	info, err := os.Stat(path)
	if err != nil {
		return Config{}, err
	}
	if info.Size() > largestConfig || !info.Mode().IsRegular() {
		return Config{}, &ConfigError{path, "is no configuration: it is too large or no file", ""}
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return Config{}, err
	}
	return parseConfig(path, string(text))
}

// secretWords are what a configuration must not hold.
var secretWords = []string{"password", "secret", "token", "passwd"}

func parseConfig(path, text string) (Config, error) {
	c := Defaults()
	fail := func(problem, remedy string) (Config, error) { return Config{}, &ConfigError{path, problem, remedy} }
	meta, err := toml.Decode(text, &c)
	if err != nil {
		var at toml.ParseError
		if errors.As(err, &at) {
			return fail(fmt.Sprintf("line %d: %s", at.Position.Line, at.Message), "")
		}
		return fail(strings.TrimPrefix(err.Error(), "toml: "), "")
	}
	if unknown := meta.Undecoded(); len(unknown) > 0 {
		k := unknown[0]
		last := k[len(k)-1]
		if slices.Contains(secretWords, strings.ToLower(last)) {
			return fail(fmt.Sprintf("%s: a secret must not stand in this file", k),
				fmt.Sprintf("put it into a file that only you may read and write %s_file = \"FILE\", or into a variable and write %s_env = \"NAME\"", last, last))
		}
		return fail(fmt.Sprintf("%s: there is no such setting", k), "")
	}
	dir := filepath.Dir(path)
	for _, p := range []*string{&c.Backup.Dir, &c.File.Path, &c.Health, &c.SMTP.PasswordFile, &c.SMTP.CAFile} {
		*p = besideFile(dir, *p)
	}
	for i := range c.Webhooks {
		c.Webhooks[i].SecretFile, c.Webhooks[i].CAFile = besideFile(dir, c.Webhooks[i].SecretFile), besideFile(dir, c.Webhooks[i].CAFile)
	}
	if problem := c.check(); problem != "" {
		return fail(problem, "")
	}
	return c, nil
}

func besideFile(dir, path string) string {
	if path == "" || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(dir, path)
}

// check says what is wrong, "" if nothing.
func (c *Config) check() string {
	for _, x := range c.Schedule.list() {
		if _, err := ParseSchedule(x[1]); err != nil {
			return "schedule." + x[0] + ": " + err.Error()
		}
	}
	for _, x := range []struct {
		name        string
		is          time.Duration
		least, most time.Duration
	}{{"plan.time", c.Plan.Time.Duration, time.Second, 12 * time.Hour}, {"plan.quiet", c.Plan.Quiet.Duration, time.Second, 24 * time.Hour}} {
		if x.is < x.least || x.is > x.most {
			return fmt.Sprintf("%s = %s, allowed: %s to %s", x.name, x.is, x.least, x.most)
		}
	}
	switch {
	case !(c.Plan.Gap >= 0 && c.Plan.Gap <= 100) || math.IsNaN(c.Plan.Gap):
		return fmt.Sprintf("plan.gap = %v, allowed: 0 to 100 percent", c.Plan.Gap)
	case c.Plan.Work < 0:
		return fmt.Sprintf("plan.work = %d, allowed: 0 or more", c.Plan.Work)
	case c.Plan.Keep < 0 || c.Plan.Keep > 10000:
		return fmt.Sprintf("plan.keep = %d, allowed: 0 to 10000 days", c.Plan.Keep)
	case c.Backup.Keep < 1 || c.Backup.Keep > 10000:
		return fmt.Sprintf("backup.keep = %d, allowed: 1 to 10000", c.Backup.Keep)
	}
	if p := c.Alerts.Check(); p != "" {
		return p
	}
	return c.checkChannels()
}

func (c *Config) checkChannels() string {
	for i, r := range c.To {
		place := fmt.Sprintf("to[%d]", i+1)
		if strings.TrimSpace(r.Name) == "" {
			return place + ".name: somebody's name is missing"
		}
		if r.Email != "" {
			if _, err := mail.ParseAddress(r.Email); err != nil || strings.ContainsAny(r.Email, "\r\n") {
				return fmt.Sprintf("%s.email = %q is no address", place, r.Email)
			}
			if c.SMTP.Host == "" {
				return place + ".email: there is no mail server to send by, smtp.host is missing"
			}
		}
		for _, k := range r.Alerts {
			if !slices.Contains(alert.Kinds, k) {
				return fmt.Sprintf("%s.alerts: there is no kind %q, allowed: %s", place, k, strings.Join(alert.Kinds, ", "))
			}
		}
		if r.Email == "" {
			return place + ".email: the address is missing, " + r.Name + " would be told nothing"
		}
	}
	if p := c.SMTP.Check(); p != "" {
		return p
	}
	for i, h := range c.Webhooks {
		if p := h.Check(); p != "" {
			return fmt.Sprintf("webhook[%d].%s", i+1, p)
		}
		for _, k := range h.Alerts {
			if !slices.Contains(alert.Kinds, k) {
				return fmt.Sprintf("webhook[%d].alerts: there is no kind %q, allowed: %s", i+1, k, strings.Join(alert.Kinds, ", "))
			}
		}
	}
	return ""
}

func (s Schedules) list() [][2]string {
	return [][2]string{{"plan", s.Plan}, {"digest", s.Digest}, {"reminder", s.Reminder}, {"backup", s.Backup}, {"check", s.Check}, {"forecast", s.Forecast}}
}

// Secrets reads every secret that the configuration names, to say at once if one is missing or lies open.
func (c *Config) Secrets(getenv func(string) string) error {
	if c.SMTP.Host != "" {
		if _, err := c.SMTP.Secret(getenv); err != nil {
			return err
		}
	}
	for _, h := range c.Webhooks {
		if _, err := h.Secret(getenv); err != nil {
			return err
		}
	}
	return nil
}

// FindConfig is the configuration for a book: the file named, or watch.toml beside the book if it is there, or the defaults; path is
// "" for those.
func FindConfig(named, book string) (c Config, path string, err error) {
	if named != "" {
		c, err = ReadConfig(named)
		return c, named, err
	}
	path = filepath.Join(filepath.Dir(book), "watch.toml")
	c, err = ReadConfig(path)
	if errors.Is(err, fs.ErrNotExist) {
		return Defaults(), "", nil
	}
	return c, path, err
}

// Host is a webhook's host, for messages: the whole address may hold a secret.
func Host(raw string) string {
	u, err := url.Parse(raw)
	if err != nil {
		return "?"
	}
	return u.Host
}

// Example is a configuration with every setting explained.
const Example = `# What feedline watch does, and whom it tells. All settings may be left out; those shown are the defaults,
# those behind # are examples. Times of day are on the plant's clock.

[schedule]                 # minute, hour, day of the month, month, weekday; or @daily, "@every 20m"; "" = never
plan     = "0 5 * * *"     # plan anew
digest   = "30 6 * * 1-5"  # a summary to each recipient that has digest = true
reminder = "0 7 * * 1-5"   # loads that must be ordered soon
backup   = "0 1 * * *"
check    = "0 3 * * 0"     # prove the book whole
forecast = "30 5 * * *"    # what the last plan is likely to come to; kept for the console and reports

[plan]
time  = "1m"               # longest search
gap   = 0.5                # stop once proven this close to the best, percent
quiet = "1m"               # a changed book is planned anew once it was left alone for so long
keep  = 14                 # days; of the watch's own plans of before, the last of each day stays, and released ones; 0 = all

[backup]
# dir = "backups"          # default: the folder backups beside the book
keep = 14                  # so many backups are kept

[alerts]                   # each is raised at its limit and cleared only beyond the margin
order_days   = 7           # a load must be ordered within so many days
cover_days   = 3           # pellets of a grade last less than so many days
slip_days    = 3           # a delivery that matters has slipped by so many days
margin       = 0.2         # cover must be better than its limit by this share before the alert is cleared
worse        = 0.25        # told again once it is worse by this share, or a day earlier
clear_after  = 2           # cleared once so many plans in a row no longer show it
idle_days    = 14          # a ready line that stands for so many days though there is feed for late orders
yield_drift  = true        # a control chart shows that a yield or a rate has changed

# [[to]]
# name = "Anna, scheduling"
# email = "anna@plant.example"
# digest = true
# alerts = ["short", "late"]   # kinds; left out = all

# [file]
# path = "alerts.jsonl"        # a line of JSON for each message

# [smtp]                       # always encrypted, by STARTTLS
# host = "mail.plant.example"
# port = 587
# user = "feedline"
# from = "feedline@plant.example"
# password_file = "smtp.password"   # readable by you alone; or password_env = "FEEDLINE_SMTP_PASSWORD"

# [[webhook]]
# url = "https://hooks.plant.example/feedline"
# secret_file = "hook.secret"       # signs each call, HMAC-SHA256; or secret_env = "FEEDLINE_HOOK_SECRET"
# alerts = ["short", "order-by"]
`
