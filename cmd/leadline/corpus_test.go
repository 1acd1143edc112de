package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// What check makes of a folder of the corpus.
type checked struct {
	Exit   int             `json:"exit"`
	Said   []string        `json:"standard_error"`
	Result json.RawMessage `json:"check"` // null when the run failed
}

// TestCorpus runs check --json on every folder of testdata/corpus and compares what
// it says with golden.json in it. Each folder holds one oddity that real recordings
// have: the files, NOTE, which says what is odd and what must come of it, and
// where flags are needed ARGS, one a line. UPDATE=1 rewrites golden.json; read it
// before committing.
func TestCorpus(t *testing.T) {
	root, err := filepath.Abs(filepath.Join("..", "..", "testdata", "corpus"))
	if err != nil {
		t.Fatal(err)
	}
	folders, err := os.ReadDir(root)
	if err != nil {
		t.Fatal(err)
	}
	for _, folder := range folders {
		t.Run(folder.Name(), func(t *testing.T) {
			t.Chdir(filepath.Join(root, folder.Name()))
			got := check(t)
			if os.Getenv("UPDATE") == "1" {
				if err := os.WriteFile("golden.json", got, 0o666); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile("golden.json")
			if err != nil {
				t.Fatalf("%v (UPDATE=1 writes it)", err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("check says\n%s\ngolden.json has\n%s", got, want)
			}
		})
	}
}

// check runs check --json on the files of the working folder.
func check(t *testing.T) []byte {
	t.Helper()
	if note, err := os.ReadFile("NOTE"); err != nil || len(bytes.TrimSpace(note)) == 0 {
		t.Error("the folder has no NOTE that says what is odd about it")
	}
	args := []string{"check", "--json", "--quiet"}
	if text, err := os.ReadFile("ARGS"); err == nil {
		args = append(args, strings.Fields(string(text))...)
	}
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !slices.Contains([]string{"NOTE", "ARGS", "golden.json", "boat.toml"}, e.Name()) {
			args = append(args, e.Name())
		}
	}
	var out, errOut bytes.Buffer
	c := checked{Exit: run(args, &out, &errOut), Said: []string{}}
	for line := range strings.Lines(errOut.String()) {
		c.Said = append(c.Said, strings.TrimSuffix(line, "\n"))
	}
	if out.Len() > 0 {
		c.Result = out.Bytes()
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(c); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
