package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net/http"
	"net/http/cookiejar"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// inDemo goes to a folder that holds the demo's files in demo, and under the
// names that the README's walk gives to recordings and readings of one's own.
func inDemo(t *testing.T) {
	demo := demoFolder(t)
	recording := filepath.Join(demo, demoRecording)
	readings, err := filepath.Abs("../../testdata/readings/example.csv")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	for link, target := range map[string]string{
		"demo": demo, "pedals.csv": recording, "flight.csv": recording, "readings.csv": readings,
	} {
		if err := os.Symlink(target, link); err != nil {
			t.Fatal(err)
		}
	}
}

func runLine(t *testing.T, line string) (status int, errs string) {
	t.Helper()
	words := strings.Fields(line)
	if words[1] == "bench" {
		return serveLine(t, words[1:])
	}
	var out, err bytes.Buffer
	status = run(words[1:], &out, &err)
	toFile := slices.Contains(words, "-o")
	if status == exitDone && out.Len() == 0 && !toFile {
		t.Errorf("%s printed nothing", line)
	}
	return status, err.String()
}

// serveLine runs the bench, which goes on until it is interrupted, as far as
// its first page.
func serveLine(t *testing.T, words []string) (status int, errs string) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	from, to := io.Pipe()
	var err bytes.Buffer
	root := newRoot()
	root.SetArgs(append(slices.Clone(words), "--no-open", "--session", t.TempDir(), "--listen", "127.0.0.1:0"))
	root.SetOut(to)
	root.SetErr(&err)
	ended := make(chan error, 1)
	go func() {
		ended <- root.ExecuteContext(ctx)
		to.Close()
	}()
	url, _ := bufio.NewReader(from).ReadString('\n')
	jar, _ := cookiejar.New(nil)
	if response, fail := (&http.Client{Jar: jar}).Get(strings.TrimSpace(url)); fail != nil {
		t.Errorf("%v: %v", words, fail)
	} else {
		page, _ := io.ReadAll(response.Body)
		response.Body.Close()
		if response.StatusCode != http.StatusOK || !bytes.Contains(page, []byte("/web/main.js")) {
			t.Errorf("%v: the page is %s: %s", words, response.Status, page)
		}
	}
	cancel()
	if fail := <-ended; fail != nil {
		return exitFailed, fail.Error()
	}
	return exitDone, err.String()
}

// Every example of every --help runs as it stands, in the order of the help.
func TestHelpExamplesRun(t *testing.T) {
	inDemo(t)
	ran := 0
	for _, cmd := range newRoot().Commands() {
		if cmd.Name() == "help" || cmd.Name() == "completion" {
			continue
		}
		if cmd.Example == "" {
			t.Errorf("halfstick %s --help shows no example", cmd.Name())
		}
		for line := range strings.Lines(cmd.Example) {
			line = strings.TrimSpace(line)
			if cmd.Name() == "demo" {
				// The demo has run already, into the folder of these files.
				line = "halfstick demo --out again"
			}
			if status, errs := runLine(t, line); status != exitDone {
				t.Errorf("%s\nended with status %d: %s", line, status, errs)
			}
			ran++
		}
	}
	if want := 20; ran < want {
		t.Errorf("only %d examples were run, of at least %d", ran, want)
	}
}

var codeBlock = regexp.MustCompile("(?ms)^```\n(.*?)^```$")

// Every command of the README runs. Those that need controllers must get as
// far as finding none; the files that they would have written are there.
func TestReadmeCommandsRun(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	inDemo(t)
	ran := 0
	for _, block := range codeBlock.FindAllSubmatch(readme, -1) {
		for line := range strings.Lines(strings.ReplaceAll(string(block[1]), "\\\n", "")) {
			line = strings.TrimSpace(line)
			if !strings.HasPrefix(line, "./halfstick") {
				continue
			}
			ran++
			line = strings.ReplaceAll(line, "pedals.csv --device", "new-pedals.csv --device")
			line = strings.ReplaceAll(line, "flight.csv --device", "new-flight.csv --device")
			status, errs := runLine(t, line+forceIfKnown(line))
			if needsController(line) && status == exitFailed && strings.Contains(errs, "no controller found") {
				continue
			}
			if status != exitDone {
				t.Errorf("%s\nended with status %d: %s", line, status, errs)
			}
		}
	}
	if ran < 15 {
		t.Errorf("only %d commands of the README were run", ran)
	}
}

func needsController(line string) bool {
	words := strings.Fields(line)
	return (words[1] == "record" || words[1] == "devices") && !strings.Contains(line, "--simulated")
}

// forceIfKnown lets the second walk of the README write the files of the first.
func forceIfKnown(line string) string {
	var cmd *cobra.Command
	for _, c := range newRoot().Commands() {
		if c.Name() == strings.Fields(line)[1] {
			cmd = c
		}
	}
	if cmd != nil && cmd.Flags().Lookup("force") != nil {
		return " --force"
	}
	return ""
}
