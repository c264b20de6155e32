package watch

import (
	"encoding/xml"
	"fmt"
	"path/filepath"
	"strings"
)

// Service is what a service that runs the watch needs to know. All paths are absolute.
type Service struct {
	Program, Book, Config string // Config may be ""
	User                  string // "" = feedline
}

func (s Service) user() string {
	if s.User == "" {
		return "feedline"
	}
	return s.User
}

func (s Service) args() []string {
	list := []string{"watch", "--book", s.Book}
	if s.Config != "" {
		list = append(list, "--config", s.Config)
	}
	return list
}

// unitQuote is a word as a unit file's command line takes it.
func unitQuote(s string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, `%`, `%%`, `$`, `$$`).Replace(s) + `"`
}

// Systemd is a unit file for systemd.
func (s Service) Systemd() string {
	line := unitQuote(s.Program)
	for _, a := range s.args() {
		line += " " + unitQuote(a)
	}
	return fmt.Sprintf(`# Put this into /etc/systemd/system/feedline-watch.service, then:
#   systemctl daemon-reload && systemctl enable --now feedline-watch
# The user %[1]s needs to read and write the folder of the book. Secrets that the configuration takes from
# variables go into /etc/feedline/watch.env (mode 0600, owned by root) as NAME=value.
[Unit]
Description=feedline watch
After=network-online.target
Wants=network-online.target

[Service]
Type=exec
User=%[1]s
ExecStart=%[2]s
EnvironmentFile=-/etc/feedline/watch.env
WorkingDirectory=%[3]s
Restart=on-failure
RestartSec=30
KillSignal=SIGTERM
TimeoutStopSec=60
Nice=10
NoNewPrivileges=yes
PrivateTmp=yes
ProtectSystem=full

[Install]
WantedBy=multi-user.target
`, s.user(), line, strings.ReplaceAll(filepath.Dir(s.Book), "%", "%%"))
}

// windowsQuote is a word as Windows programs take it apart.
func windowsQuote(s string) string {
	if !strings.ContainsAny(s, " \t\"") {
		return s
	}
	var b strings.Builder
	b.WriteByte('"')
	back := 0
	for _, r := range s {
		switch r {
		case '\\':
			back++
			continue
		case '"':
			b.WriteString(strings.Repeat(`\`, 2*back+1))
		default:
			b.WriteString(strings.Repeat(`\`, back))
		}
		back = 0
		b.WriteRune(r)
	}
	b.WriteString(strings.Repeat(`\`, 2*back) + `"`)
	return b.String()
}

func escaped(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a Builder takes everything
	return b.String()
}

// Windows is a task for Windows' Task Scheduler, to be imported.
func (s Service) Windows() string {
	var args []string
	for _, a := range s.args() {
		args = append(args, windowsQuote(a))
	}
	return fmt.Sprintf(`<?xml version="1.0" encoding="UTF-8"?>
<!-- Save as feedline-watch.xml, then as an administrator:
     schtasks /Create /TN "feedline watch" /XML feedline-watch.xml /RU %s /RP * -->
<Task version="1.2" xmlns="http://schemas.microsoft.com/windows/2004/02/mit/task">
  <RegistrationInfo><Description>feedline watch</Description></RegistrationInfo>
  <Triggers><BootTrigger><Enabled>true</Enabled></BootTrigger></Triggers>
  <Settings>
    <MultipleInstancesPolicy>IgnoreNew</MultipleInstancesPolicy>
    <DisallowStartIfOnBatteries>false</DisallowStartIfOnBatteries>
    <StopIfGoingOnBatteries>false</StopIfGoingOnBatteries>
    <ExecutionTimeLimit>PT0S</ExecutionTimeLimit>
    <Priority>7</Priority>
    <RestartOnFailure><Interval>PT1M</Interval><Count>999</Count></RestartOnFailure>
  </Settings>
  <Actions>
    <Exec>
      <Command>%s</Command>
      <Arguments>%s</Arguments>
      <WorkingDirectory>%s</WorkingDirectory>
    </Exec>
  </Actions>
</Task>
`, escaped(windowsQuote(s.user())), escaped(s.Program), escaped(strings.Join(args, " ")), escaped(filepath.Dir(s.Book)))
}
