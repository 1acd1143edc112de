// Package save puts a set of outputs in place, all of them or none.
//
// # Method
//
//  1. Every output is written to a temporary file in the target directory and
//     flushed to the disk. Nothing that was there before is touched until all of
//     them are complete.
//  2. What each output replaces is kept under a second name.
//  3. Each temporary file is renamed to its own name.
//
// When a step fails, or the context ends, the steps before it are undone: what was
// replaced is back, temporary files and directories made for the purpose are gone.
//
// # What it does badly
//
// A rename is atomic, a set of renames is not: after a loss of power in step 3 some
// outputs may be new and some old, with files named .NAME.old-N left behind. Each
// file by itself is whole.
package save

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// An Output is one file to write.
type Output struct {
	Name  string                // inside the directory, without any folder
	Write func(io.Writer) error // called once
}

// Files writes the outputs into dir, which is made, with the folders above it,
// when it is missing. On any error dir is as it was before.
//
// Errors are those of the file system, of an output's Write (wrapped with its
// name), and the context's when it ends before the last rename. A name that is
// empty, has a folder in it or occurs twice is an error. Write sees a writer whose
// every call fails once ctx has ended.
func Files(ctx context.Context, dir string, outs []Output) (err error) {
	if err := checkNames(outs); err != nil {
		return err
	}
	made, err := makeDir(dir)
	if err != nil {
		return err
	}
	undo := []func(){func() {
		for _, d := range made {
			os.Remove(d) // stays if somebody else put something in it
		}
	}}
	defer func() {
		if err == nil {
			return
		}
		for i := len(undo) - 1; i >= 0; i-- {
			undo[i]()
		}
	}()

	temporary := make([]string, len(outs))
	for i, out := range outs {
		f, err := create(dir, out.Name, "new")
		if err != nil {
			return err
		}
		temporary[i] = f.Name()
		undo = append(undo, func() { os.Remove(f.Name()) })
		if err := fill(ctx, f, out); err != nil {
			return err
		}
	}
	var kept []string
	for i, out := range outs {
		if err := ctx.Err(); err != nil {
			return err
		}
		name := filepath.Join(dir, out.Name)
		old, err := keep(dir, out.Name)
		if err != nil {
			return err
		}
		if old != "" {
			kept = append(kept, old)
			undo = append(undo, func() { os.Rename(old, name) })
		}
		if err := os.Rename(temporary[i], name); err != nil {
			return err
		}
		if old == "" {
			undo = append(undo, func() { os.Remove(name) })
		}
	}
	// From here on the outputs are in place, and nothing that fails undoes that.
	for _, old := range kept {
		os.Remove(old)
	}
	syncDir(dir)
	return nil
}

func checkNames(outs []Output) error {
	seen := map[string]bool{}
	for _, out := range outs {
		switch {
		case out.Name == "" || out.Name != filepath.Base(out.Name) || !filepath.IsLocal(out.Name) || out.Name == ".":
			return fmt.Errorf("%q is not a plain file name", out.Name)
		case seen[out.Name]:
			return fmt.Errorf("%q is written twice", out.Name)
		}
		seen[out.Name] = true
	}
	return nil
}

// makeDir makes dir and what is missing above it, and returns what it made,
// deepest first.
func makeDir(dir string) (made []string, err error) {
	for d := filepath.Clean(dir); ; d = filepath.Dir(d) {
		info, err := os.Stat(d)
		if err == nil && !info.IsDir() {
			return nil, fmt.Errorf("%s is not a directory", d)
		}
		if err == nil || !errors.Is(err, fs.ErrNotExist) || d == filepath.Dir(d) {
			break
		}
		made = append(made, d)
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		for _, d := range made {
			os.Remove(d)
		}
		return nil, err
	}
	return made, nil
}

// create opens a file in dir that was not there: .NAME.WHAT-1, or the next number
// that is free. Unlike os.CreateTemp it leaves the permissions to the umask, as
// for any other output.
func create(dir, name, what string) (*os.File, error) {
	for n := 1; ; n++ {
		path := filepath.Join(dir, fmt.Sprintf(".%s.%s-%d", name, what, n))
		f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if err == nil || !errors.Is(err, fs.ErrExist) || n == 1000 {
			return f, err
		}
	}
}

// fill writes the output, flushes it to the disk and closes the file.
func fill(ctx context.Context, f *os.File, out Output) error {
	err := out.Write(writer{ctx, f})
	if err == nil {
		err = f.Sync()
	}
	if errClose := f.Close(); err == nil {
		err = errClose
	}
	if err != nil && !errors.Is(err, ctx.Err()) {
		return fmt.Errorf("%s: %w", out.Name, err)
	}
	return err
}

type writer struct {
	ctx context.Context
	f   *os.File
}

func (w writer) Write(p []byte) (int, error) {
	if err := w.ctx.Err(); err != nil {
		return 0, err
	}
	return w.f.Write(p)
}

// keep gives what is there under the name a second name, and returns that; ""
// when nothing is there. The file stays in place where the file system has hard
// links; where it has none, as on most memory cards, it is moved.
func keep(dir, name string) (old string, err error) {
	path := filepath.Join(dir, name)
	info, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	if info.IsDir() {
		return "", fmt.Errorf("%s is a directory", path)
	}
	f, err := create(dir, name, "old")
	if err != nil {
		return "", err
	}
	old = f.Name()
	f.Close()
	// The name is ours now; it has to be free again for a link.
	if err := os.Remove(old); err != nil {
		return "", err
	}
	if os.Link(path, old) == nil {
		return old, nil
	}
	return old, os.Rename(path, old)
}

// syncDir makes the renames last through a loss of power, where the system can.
func syncDir(dir string) {
	d, err := os.Open(dir)
	if err != nil {
		return
	}
	d.Sync()
	d.Close()
}
