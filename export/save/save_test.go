package save

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func text(s string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, s)
		return err
	}
}

// tree lists everything under a directory with its content.
func tree(t *testing.T, dir string) string {
	t.Helper()
	var b strings.Builder
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		if d.IsDir() {
			b.WriteString(name + "/\n")
			return nil
		}
		content, err := os.ReadFile(path)
		b.WriteString(name + "=" + string(content) + "\n")
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func put(t *testing.T, dir, name, content string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), []byte(content), 0o666); err != nil {
		t.Fatal(err)
	}
}

func TestFiles(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a", "old a")
	put(t, dir, "mine", "untouched")
	if err := Files(t.Context(), dir, []Output{{"a", text("new a")}, {"b", text("new b")}}); err != nil {
		t.Fatal(err)
	}
	if got, want := tree(t, dir), "./\na=new a\nb=new b\nmine=untouched\n"; got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
}

func TestMakesDirectory(t *testing.T) {
	dir := t.TempDir()
	if err := Files(t.Context(), filepath.Join(dir, "x", "y"), []Output{{"a", text("new")}}); err != nil {
		t.Fatal(err)
	}
	if got, want := tree(t, dir), "./\nx/\nx/y/\nx/y/a=new\n"; got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
}

// TestFailure: whatever goes wrong, everything is as it was.
func TestFailure(t *testing.T) {
	errDisk := errors.New("no space left")
	midway := func(w io.Writer) error {
		if err := text("half a fi")(w); err != nil {
			return err
		}
		return errDisk
	}
	cases := []struct {
		name string
		sub  string // folder under the temporary one
		outs func(cancel func()) []Output
		want error // nil: any
	}{
		{"first writer breaks off", "", func(func()) []Output { return []Output{{"a", midway}, {"b", text("new")}} }, errDisk},
		{"last writer breaks off", "", func(func()) []Output { return []Output{{"a", text("new")}, {"c", text("new")}, {"b", midway}} }, errDisk},
		{"last writer breaks off, new folder", "x/y", func(func()) []Output { return []Output{{"a", text("new")}, {"b", midway}} }, errDisk},
		{"cancelled before", "x", func(cancel func()) []Output {
			cancel()
			return []Output{{"a", text("new")}}
		}, context.Canceled},
		{"cancelled while writing", "", func(cancel func()) []Output {
			return []Output{{"a", text("new")}, {"b", func(w io.Writer) error {
				cancel()
				return text("more")(w)
			}}}
		}, context.Canceled},
		{"cancelled by the last writer, which writes nothing after", "", func(cancel func()) []Output {
			return []Output{{"a", text("new")}, {"b", func(io.Writer) error {
				cancel()
				return nil
			}}}
		}, context.Canceled},
		{"a rename fails after others went through", "", func(func()) []Output {
			return []Output{{"a", text("new")}, {"c", text("new")}, {"folder", text("new")}}
		}, nil},
		{"a temporary file is pulled away before its rename", "", func(func()) []Output {
			return []Output{{"a", text("new")}, {"b", text("new")}, {"c", func(w io.Writer) error {
				return os.Remove(w.(writer).f.Name())
			}}}
		}, fs.ErrNotExist},
		{"folder in a name", "", func(func()) []Output { return []Output{{"a", text("new")}, {"../b", text("new")}} }, nil},
		{"empty name", "", func(func()) []Output { return []Output{{"", text("new")}} }, nil},
		{"same name twice", "", func(func()) []Output { return []Output{{"a", text("new")}, {"a", text("newer")}} }, nil},
		{"a file where the directory should be", "b", func(func()) []Output { return []Output{{"a", text("new")}} }, nil},
		{"a file above the directory", "b/x", func(func()) []Output { return []Output{{"a", text("new")}} }, nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			put(t, dir, "a", "old a")
			put(t, dir, "b", "old b")
			if err := os.Mkdir(filepath.Join(dir, "folder"), 0o777); err != nil {
				t.Fatal(err)
			}
			before := tree(t, dir)
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			err := Files(ctx, filepath.Join(dir, filepath.FromSlash(c.sub)), c.outs(cancel))
			if err == nil || c.want != nil && !errors.Is(err, c.want) {
				t.Errorf("error %v, want %v", err, c.want)
			}
			if after := tree(t, dir); after != before {
				t.Errorf("left\n%swant\n%s", after, before)
			}
		})
	}
}

// A place that nobody can write to, not even root: below a plain file.
func TestUnwritableDirectory(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a", "old")
	before := tree(t, dir)
	if err := Files(t.Context(), filepath.Join(dir, "a", "sub"), []Output{{"b", text("new")}}); err == nil {
		t.Error("no error")
	}
	if after := tree(t, dir); after != before {
		t.Errorf("left\n%swant\n%s", after, before)
	}
}

// TestStale: a temporary file from a run that was cut off stands in nobody's way.
func TestStale(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, ".a.new-1", "cut off")
	if err := Files(t.Context(), dir, []Output{{"a", text("new")}}); err != nil {
		t.Fatal(err)
	}
	if got, want := tree(t, dir), "./\n.a.new-1=cut off\na=new\n"; got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
}
