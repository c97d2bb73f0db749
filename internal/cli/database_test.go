package cli

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"fairset/internal/store/postgres/pgtest"
)

// post sends JSON and returns the status and the answer.
func post(t *testing.T, url string, body any) (int, map[string]any) {
	t.Helper()
	data, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	resp, err := http.Post(url, "application/json", bytes.NewReader(data))
	if err != nil {
		t.Error(err)
		return 0, nil
	}
	defer resp.Body.Close()
	var out map[string]any
	if err := json.NewDecoder(resp.Body).Decode(&out); err != nil {
		t.Errorf("%s: %v", url, err)
	}
	return resp.StatusCode, out
}

// Two servers as people use them, on one database: what one takes in the other shows, its open page hears of it
// at once, and whoever is late is told.
func TestTwoServersOneDatabase(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir()) // the servers' copies
	address := pgtest.Schema(t)
	a, stopA := serve(t, "--db", address)
	b, stopB := serve(t, "--db", address)
	defer stopB()
	status, made := post(t, a+"api/v1/guitars", map[string]any{"name": "Heron", "design": "steel-14"})
	if status != http.StatusCreated {
		t.Fatalf("status %d: %v", status, made)
	}
	id := fmt.Sprint(made["id"])
	if status, page := get(t, b+"api/v1/guitars/"+id, nil); status != 200 || !strings.Contains(page, `"Heron"`) {
		t.Fatalf("the other server: %d %s", status, page)
	}

	live, err := http.Get(b + "class/events")
	if err != nil {
		t.Fatal(err)
	}
	defer live.Body.Close()
	if live.StatusCode != http.StatusOK {
		t.Fatalf("the page's stream: status %d", live.StatusCode)
	}
	told := make(chan time.Time, 100)
	go func() {
		for lines := bufio.NewScanner(live.Body); lines.Scan(); {
			if lines.Text() == "event: change" {
				told <- time.Now()
			}
		}
		close(told)
	}()
	<-told // how things stand
	entries := "api/v1/guitars/" + id + "/entries"
	note := func(text string, revision any) map[string]any {
		return map[string]any{"revision": revision, "step": "note", "values": map[string]any{"text": text}}
	}
	sent := time.Now()
	if status, _ := post(t, a+entries, note("first", 1)); status != http.StatusCreated {
		t.Fatalf("status %d", status)
	}
	select {
	case at := <-told:
		t.Logf("the other server's page heard of it after %v", at.Sub(sent).Round(time.Millisecond))
	case <-time.After(10 * time.Second):
		t.Fatal("the other server's page never heard of it")
	}
	if status, refused := post(t, b+entries, note("refused note", 1)); status != http.StatusConflict {
		t.Errorf("the late bench: status %d: %v", status, refused)
	}

	// Benches at both, each sure to have its notes kept once.
	const benches, each = 6, 5
	var wg sync.WaitGroup
	for n := range benches {
		at := []string{a, b}[n%2]
		wg.Go(func() {
			for k := 0; k < each; {
				_, page := get(t, at+"api/v1/guitars/"+id, nil)
				var now struct {
					Revision int64 `json:"revision"`
				}
				if err := json.Unmarshal([]byte(page), &now); err != nil {
					t.Error(err)
					return
				}
				switch status, said := post(t, at+entries, note(fmt.Sprintf("bench %d note %d", n, k), now.Revision)); status {
				case http.StatusCreated:
					k++
				case http.StatusConflict:
				default:
					t.Errorf("status %d: %v", status, said)
					return
				}
			}
		})
	}
	wg.Wait()
	_, file := get(t, b+"api/v1/guitars/"+id+"/export", nil)
	for n := range benches {
		for k := range each {
			if c := strings.Count(file, fmt.Sprintf("bench %d note %d\"", n, k)); c != 1 {
				t.Errorf("note %d of bench %d is there %d times", k, n, c)
			}
		}
	}
	if c := strings.Count(file, "refused note"); c != 0 {
		t.Errorf("the refused note is there %d times", c)
	}

	// One server stops; the other goes on.
	if code := stopA(); code != 0 {
		t.Errorf("exit code %d", code)
	}
	if status, _ := post(t, b+entries, note("alone", 2+benches*each)); status != http.StatusCreated {
		t.Errorf("status %d", status)
	}
}
