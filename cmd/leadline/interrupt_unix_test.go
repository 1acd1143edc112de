//go:build unix

package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A person who presses Ctrl-C gets their prompt back, and no half-written folder.
func TestInterrupt(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out")
	time.AfterFunc(time.Second, func() { syscall.Kill(os.Getpid(), syscall.SIGINT) })
	var stdout, stderr bytes.Buffer
	code := run([]string{"zones", lanternHollow, "--boat", filepath.Join(lanternHollow, "boat.toml"),
		"-o", out, "--simulations=1000000"}, &stdout, &stderr) // a good minute, unless interrupted
	if code != exitInterrupted || !strings.Contains(stderr.String(), "interrupted, nothing was written") {
		t.Errorf("exit %d, want %d; standard error:\n%s", code, exitInterrupted, stderr.String())
	}
	if _, err := os.Stat(out); err == nil {
		t.Error("the folder was made all the same")
	}
}
