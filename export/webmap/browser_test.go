//go:build reference

package webmap_test

import (
	"bufio"
	"encoding/base64"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"
)

// A browser is a headless Chromium, told what to do over a pair of pipes by the Chrome
// DevTools Protocol: JSON messages, each ended by a zero byte.
type browser struct {
	t       testing.TB
	to      io.Writer
	session string

	mu      sync.Mutex
	next    int
	waiting map[int]chan message
	events  []message
	gone    error
}

type message struct {
	ID        int             `json:"id,omitempty"`
	Method    string          `json:"method,omitempty"`
	SessionID string          `json:"sessionId,omitempty"`
	Params    json.RawMessage `json:"params,omitempty"`
	Result    json.RawMessage `json:"result,omitempty"`
	Error     *struct {
		Message string `json:"message"`
	} `json:"error,omitempty"`
}

// newBrowser starts Chromium with an empty page; the test's end stops it. It fails the
// test where there is none.
func newBrowser(t testing.TB) *browser {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Fatal(err)
	}
	inR, inW, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	outR, outW, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(path, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--hide-scrollbars", "--remote-debugging-pipe", "--user-data-dir="+t.TempDir(), "about:blank")
	c.ExtraFiles = []*os.File{inR, outW} // 3 and 4 of the child
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	inR.Close()
	outW.Close()
	b := &browser{t: t, to: inW, waiting: map[int]chan message{}}
	go b.listen(outR)
	t.Cleanup(func() {
		b.session = ""
		b.send("Browser.close", nil)
		ended := make(chan error, 1)
		go func() { ended <- c.Wait() }()
		select {
		case <-ended:
		case <-time.After(10 * time.Second):
			c.Process.Kill()
		}
		inW.Close()
	})
	var target struct{ TargetID string }
	b.call("Target.createTarget", map[string]any{"url": "about:blank"}, &target)
	var attached struct{ SessionID string }
	b.call("Target.attachToTarget", map[string]any{"targetId": target.TargetID, "flatten": true}, &attached)
	b.session = attached.SessionID
	for _, domain := range []string{"Page", "Runtime", "Log", "Network"} {
		b.call(domain+".enable", nil, nil)
	}
	return b
}

func (b *browser) listen(from io.Reader) {
	r := bufio.NewReader(from)
	for {
		text, err := r.ReadBytes(0)
		var m message
		if err == nil {
			err = json.Unmarshal(text[:len(text)-1], &m)
		}
		b.mu.Lock()
		switch {
		case err != nil:
			b.gone = err
			for _, c := range b.waiting {
				close(c)
			}
			b.waiting = map[int]chan message{}
		case m.ID != 0:
			if c := b.waiting[m.ID]; c != nil {
				c <- m
				delete(b.waiting, m.ID)
			}
		default:
			b.events = append(b.events, m)
		}
		b.mu.Unlock()
		if err != nil {
			return
		}
	}
}

func (b *browser) send(method string, params any) chan message {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.next++
	c := make(chan message, 1)
	if b.gone != nil {
		close(c)
		return c
	}
	b.waiting[b.next] = c
	m := map[string]any{"id": b.next, "method": method}
	if params != nil {
		m["params"] = params
	}
	if b.session != "" {
		m["sessionId"] = b.session
	}
	text, err := json.Marshal(m)
	if err == nil {
		_, err = b.to.Write(append(text, 0))
	}
	if err != nil {
		b.gone = err
		delete(b.waiting, b.next)
		close(c)
	}
	return c
}

func (b *browser) call(method string, params, result any) {
	b.t.Helper()
	select {
	case m, ok := <-b.send(method, params):
		switch {
		case !ok:
			b.t.Fatalf("%s: the browser has gone: %v", method, b.gone)
		case m.Error != nil:
			b.t.Fatalf("%s: %s", method, m.Error.Message)
		case result != nil:
			if err := json.Unmarshal(m.Result, result); err != nil {
				b.t.Fatalf("%s: %v", method, err)
			}
		}
	case <-time.After(60 * time.Second):
		b.t.Fatalf("%s: no answer in a minute", method)
	}
}

// eval runs a script in the page, waits for its promise, and decodes what it gives.
func (b *browser) eval(result any, script string) {
	b.t.Helper()
	var r struct {
		Result           struct{ Value json.RawMessage }
		ExceptionDetails json.RawMessage
	}
	b.call("Runtime.evaluate", map[string]any{"expression": script, "returnByValue": true, "awaitPromise": true}, &r)
	if r.ExceptionDetails != nil {
		b.t.Fatalf("%s: %s", script, r.ExceptionDetails)
	}
	if result != nil {
		if err := json.Unmarshal(r.Result.Value, result); err != nil {
			b.t.Fatalf("%s gave %s: %v", script, r.Result.Value, err)
		}
	}
}

// text runs a script that gives a string.
func (b *browser) text(script string) string {
	b.t.Helper()
	var s string
	b.eval(&s, script)
	return s
}

// screen sets the window, the theme and how much motion is wanted.
func (b *browser) screen(width, height int, scale float64, features ...string) {
	b.t.Helper()
	b.call("Emulation.setDeviceMetricsOverride", map[string]any{"width": width, "height": height, "deviceScaleFactor": scale, "mobile": width < 500}, nil)
	b.call("Emulation.setTouchEmulationEnabled", map[string]any{"enabled": width < 500}, nil)
	b.media("", features...)
}

func (b *browser) media(media string, features ...string) {
	b.t.Helper()
	list := []map[string]string{}
	for i := 0; i < len(features); i += 2 {
		list = append(list, map[string]string{"name": features[i], "value": features[i+1]})
	}
	b.call("Emulation.setEmulatedMedia", map[string]any{"media": media, "features": list}, nil)
}

// open writes the page to a file, loads it from there and waits until it stands still.
func (b *browser) open(text []byte) (url string) {
	b.t.Helper()
	path := filepath.Join(b.t.TempDir(), "page.html")
	if err := os.WriteFile(path, text, 0o666); err != nil {
		b.t.Fatal(err)
	}
	url = "file://" + path
	b.mu.Lock()
	b.events = nil
	b.mu.Unlock()
	b.call("Page.navigate", map[string]any{"url": url}, nil)
	for range 200 {
		if b.seen("Page.loadEventFired") {
			b.rest()
			return url
		}
		time.Sleep(25 * time.Millisecond)
	}
	b.t.Fatal("the page did not load")
	return ""
}

// rest lets moves come to their end: the library's take a quarter of a second.
func (b *browser) rest() {
	b.t.Helper()
	time.Sleep(400 * time.Millisecond)
	b.call("Runtime.evaluate", map[string]any{"expression": "1"}, nil)
}

func (b *browser) seen(method string) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, e := range b.events {
		if e.Method == method {
			return true
		}
	}
	return false
}

// complaints are what the page wrote to the console, threw or was refused, and every
// request but the one for the page.
func (b *browser) complaints(url string) []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	var out []string
	for _, e := range b.events {
		switch e.Method {
		case "Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded":
			out = append(out, e.Method+" "+string(e.Params))
		case "Network.requestWillBeSent":
			var p struct{ Request struct{ URL string } }
			if err := json.Unmarshal(e.Params, &p); err != nil || p.Request.URL != url {
				out = append(out, "request "+p.Request.URL)
			}
		}
	}
	return out
}

func (b *browser) mouse(kind string, x, y float64, buttons int) {
	b.t.Helper()
	p := map[string]any{"type": kind, "x": x, "y": y, "button": "none", "buttons": buttons, "clickCount": 1}
	if kind != "mouseMoved" {
		p["button"] = "left"
	}
	b.call("Input.dispatchMouseEvent", p, nil)
}

func (b *browser) click(x, y float64) {
	b.t.Helper()
	b.mouse("mouseMoved", x, y, 0)
	b.mouse("mousePressed", x, y, 1)
	b.mouse("mouseReleased", x, y, 0)
	b.rest()
}

func (b *browser) tap(x, y float64) {
	b.t.Helper()
	b.call("Input.dispatchTouchEvent", map[string]any{"type": "touchStart", "touchPoints": []any{map[string]any{"x": x, "y": y}}}, nil)
	b.call("Input.dispatchTouchEvent", map[string]any{"type": "touchEnd", "touchPoints": []any{}}, nil)
	b.rest()
}

// key presses a key by its name and, for those that type something, its text.
func (b *browser) key(name, text string, code int) {
	b.t.Helper()
	p := map[string]any{"type": "keyDown", "key": name, "windowsVirtualKeyCode": code, "text": text}
	if len(name) > 1 {
		p["code"] = name
	}
	b.call("Input.dispatchKeyEvent", p, nil)
	p["type"] = "keyUp"
	delete(p, "text")
	b.call("Input.dispatchKeyEvent", p, nil)
	if name != "Tab" { // moves nothing but the focus
		b.rest()
	}
}

// shot writes a picture of the window to the directory in the environment variable SHOTS,
// for a person to look at; without one it does nothing.
func (b *browser) shot(name string) {
	b.t.Helper()
	dir := os.Getenv("SHOTS")
	if dir == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), b.picture(nil), 0o666); err != nil {
		b.t.Fatal(err)
	}
}

// picture is the window, or a part of it, as PNG.
func (b *browser) picture(clip map[string]float64) []byte {
	b.t.Helper()
	p := map[string]any{"format": "png"}
	if clip != nil {
		p["clip"] = clip
	}
	var r struct{ Data string }
	b.call("Page.captureScreenshot", p, &r)
	data, err := base64.StdEncoding.DecodeString(r.Data)
	if err != nil {
		b.t.Fatal(err)
	}
	return data
}
