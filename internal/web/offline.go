package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"

	"fairset/language"
	"fairset/unit"
)

// workerScript is the part of the program that stays in the browser when the shop is out of reach.
const workerScript = "worker.js"

// offlinePage is what a device shows for a page it has never seen, and the list of what waits on it. It holds
// nothing of the shop's, so that it may be kept by anybody.
type offlinePage struct{ layout }

// offline serves GET /offline, which the device keeps.
func offline(in *request) error {
	return in.render(http.StatusOK, "offline", offlinePage{in.nobodys("Out of reach")})
}

// unsaved serves GET /offline/unsaved, which the device keeps too: what it shows for a form that only the shop can take.
func unsaved(in *request) error {
	return in.render(http.StatusOK, "unsaved", offlinePage{in.nobodys("Out of reach")})
}

// waiting serves GET /waiting: what this device keeps until it can be sent. Its list is filled in on the device.
func waiting(in *request) error {
	return in.render(http.StatusOK, "waiting", offlinePage{in.nobodys("Waiting on this device")})
}

// nobodys is the layout of a page that a device keeps whoever has signed in.
func (in *request) nobodys(title unit.Text) layout {
	l := in.layout(title)
	l.Shop, l.Member, l.Whose, l.Path, l.Shared, l.Demo = "Fairset", "", "", "/", false, false
	return l
}

// worker serves GET /worker.js from the root, so that every page is in its reach. It changes when any file does.
func worker(in *request) error {
	in.w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	in.w.Header().Set("Cache-Control", "no-cache")
	_, err := in.w.Write(in.srv.worker)
	return err
}

// makeWorker puts the names of this program's files before the worker's script.
func makeWorker(a *assets) ([]byte, error) {
	script, ok := a.byURL[a.byKey[workerScript]]
	if !ok {
		return nil, fmt.Errorf("no embedded file %q", workerScript)
	}
	files := []string{"/offline", "/offline/unsaved", "/waiting"}
	sum := sha256.New()
	for u := range a.byURL {
		if u != a.byKey[workerScript] {
			files = append(files, u)
		}
	}
	slices.Sort(files)
	for _, u := range files {
		fmt.Fprintln(sum, u)
	}
	pages, err := pageSum()
	if err != nil {
		return nil, err
	}
	sum.Write(pages)
	list, err := json.Marshal(files)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "const SHELL = \"fairset-%s\";\nconst FILES = %s;\n", hex.EncodeToString(sum.Sum(nil)[:6]), list)
	b.Write(script.data)
	return b.Bytes(), nil
}

// pageSum stands for the templates, in every language, of the pages that are kept with the program's files.
func pageSum() ([]byte, error) {
	sum := sha256.New()
	for _, c := range language.Codes() {
		for _, name := range []string{"layout", "parts", "offline", "unsaved", "waiting"} {
			src, err := source(name, c)
			if err != nil {
				return nil, err
			}
			fmt.Fprintln(sum, src)
		}
	}
	return sum.Sum(nil), nil
}

// manifest serves GET /app.webmanifest: what a phone must know to keep the pages beside its programs.
// source: W3C Web Application Manifest
func manifest(in *request) error {
	type icon struct {
		Src     string `json:"src"`
		Sizes   string `json:"sizes"`
		Type    string `json:"type"`
		Purpose string `json:"purpose,omitempty"`
	}
	m := struct {
		Name       string `json:"name"`
		Short      string `json:"short_name"`
		About      string `json:"description"`
		Lang       string `json:"lang"`
		ID         string `json:"id"`
		Start      string `json:"start_url"`
		Scope      string `json:"scope"`
		Display    string `json:"display"`
		Background string `json:"background_color"`
		Theme      string `json:"theme_color"`
		Icons      []icon `json:"icons"`
	}{"Fairset", "Fairset", in.tell("The bench companion for guitars with bolt-on necks."), in.prefs.Units.Language().Tag(), "/", "/", "/", "standalone", "#fcfaf4", "#dcb98a", nil}
	for _, i := range []icon{{"mark.svg", "any", "image/svg+xml", ""}, {"icon-192.png", "192x192", "image/png", ""}, {"icon-512.png", "512x512", "image/png", ""}, {"icon-512.png", "512x512", "image/png", "maskable"}} {
		u, err := in.srv.asset.url(i.Src)
		if err != nil {
			return err
		}
		i.Src = u
		m.Icons = append(m.Icons, i)
	}
	in.w.Header().Set("Content-Type", "application/manifest+json")
	in.w.Header().Set("Cache-Control", "no-cache")
	return json.NewEncoder(in.w).Encode(m)
}
