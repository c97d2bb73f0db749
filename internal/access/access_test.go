package access_test

import (
	"context"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"fairset/internal/access"
	"fairset/internal/store"
	"fairset/internal/store/sqlite"
)

func door(t *testing.T) (*access.Door, *time.Time) {
	t.Helper()
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{Now: func() time.Time { return now }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	return &access.Door{People: db, Now: func() time.Time { return now }}, &now
}

func TestRules(t *testing.T) {
	teacher, bench := access.Who{Account: "t", Role: store.Teacher}, access.Who{Account: "b", Role: store.Bench}
	for _, c := range []struct {
		rule access.Rule
		who  access.Who
		in   bool
		want *store.Error // nil for allowed
	}{
		{access.Anyone, access.Who{}, false, nil},
		{access.Member, access.Who{}, false, store.ErrSignIn},
		{access.Member, bench, true, nil},
		{access.Teacher, access.Who{}, false, store.ErrSignIn},
		{access.Teacher, bench, true, store.ErrRefused},
		{access.Teacher, teacher, true, nil},
		{access.Rule(0), teacher, true, store.ErrRefused},
		{access.Rule(9), teacher, true, store.ErrRefused},
	} {
		err := c.rule.Check(c.who, c.in)
		if c.want == nil && err != nil || c.want != nil && !errors.Is(err, c.want) {
			t.Errorf("rule %d, %+v: %v", c.rule, c.who, err)
		}
	}
	for _, c := range []struct {
		who   access.Who
		owner string
		want  bool
	}{{teacher, "", true}, {teacher, "b", true}, {bench, "b", true}, {bench, "c", false}, {bench, "", false}, {access.Who{}, "", false}, {access.Who{Role: store.Bench}, "", false}} {
		if got := c.who.Owns(c.owner); got != c.want {
			t.Errorf("%+v owns %q: %v", c.who, c.owner, got)
		}
	}
}

func TestSecrets(t *testing.T) {
	for _, c := range []struct {
		role   store.Role
		secret string
		ok     bool
	}{
		{store.Bench, "4821", true}, {store.Bench, "482", false}, {store.Bench, "", false}, {store.Bench, "7777", false},
		{store.Bench, "1234", false}, {store.Bench, "4321", false}, {store.Bench, "bench 3", false}, {store.Bench, "\xff\xfe4821", false},
		{store.Teacher, "4821", false}, {store.Teacher, "spruce and cedar", true}, {store.Teacher, "äöüßäöüßäö", true},
		{store.Teacher, strings.Repeat("spruce ", 40), false},
	} {
		if err := access.CheckSecret(c.role, "bench 3", c.secret); (err == nil) != c.ok {
			t.Errorf("%s %q: %v", c.role, c.secret, err)
		}
	}
	a, err := access.Hash(t.Context(), "4821")
	if err != nil {
		t.Fatal(err)
	}
	b, err := access.Hash(t.Context(), "4821")
	if err != nil || a == b || !strings.HasPrefix(a, "$argon2id$v=19$m=19456,t=2,p=1$") {
		t.Errorf("hashes %q and %q, %v", a, b, err)
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	// With both places taken somebody who has gone does not wait; else it may win a place.
	if _, err := access.Hash(gone, "4821"); err != nil && !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

// A teacher's account never locks, so that nobody can shut a class out of its teacher, but each wrong try waits.
func TestATeacherIsSlowedAndNeverLocked(t *testing.T) {
	d, now := door(t)
	if _, err := d.Add(t.Context(), access.Local, "desk", store.Teacher, "spruce and cedar"); err != nil {
		t.Fatal(err)
	}
	waits := 0
	for range 40 {
		*now = now.Add(20 * time.Second)
		_, _, err := d.SignIn(t.Context(), "desk", "wrong wrong wrong", "192.0.2.9")
		switch store.KindOf(err) {
		case store.Wait:
			waits++
		case store.SignIn:
		default:
			t.Fatalf("got %v", err)
		}
	}
	if waits < 20 {
		t.Errorf("%d of 40 tries had to wait", waits)
	}
	*now = now.Add(2 * time.Minute)
	if _, _, err := d.SignIn(t.Context(), "desk", "spruce and cedar", "192.0.2.1"); err != nil {
		t.Errorf("the right one afterwards: %v", err)
	}
}

func TestAnAddressMayNotTryForEver(t *testing.T) {
	d, now := door(t)
	tried := func() (n int) {
		for ; n < 100; n++ {
			if _, _, err := d.SignIn(t.Context(), "nobody", "0000", "192.0.2.9"); store.KindOf(err) == store.Wait {
				return n
			}
		}
		return n
	}
	if n := tried(); n < 10 || n > 30 {
		t.Errorf("%d tries at once", n)
	}
	if _, _, err := d.SignIn(t.Context(), "nobody", "0000", "192.0.2.10"); store.KindOf(err) != store.SignIn {
		t.Errorf("another address: %v", err)
	}
	*now = now.Add(10 * time.Second)
	if n := tried(); n < 1 || n > 5 {
		t.Errorf("%d tries after ten seconds", n)
	}
}

func TestALockEndsTryingAndTellsNothing(t *testing.T) {
	d, now := door(t)
	a, err := d.Add(t.Context(), access.Local, "bench 3", store.Bench, "4821")
	if err != nil {
		t.Fatal(err)
	}
	in, _, err := d.SignIn(t.Context(), "bench 3", "4821", "192.0.2.1")
	if err != nil {
		t.Fatal(err)
	}
	for range access.LockAt {
		*now = now.Add(time.Minute)
		if _, _, err := d.SignIn(t.Context(), "bench 3", "0000", "192.0.2.9"); store.KindOf(err) != store.SignIn {
			t.Fatalf("got %v", err)
		}
	}
	right, wrong := error(nil), error(nil)
	_, _, right = d.SignIn(t.Context(), "bench 3", "4821", "192.0.2.9")
	_, _, wrong = d.SignIn(t.Context(), "bench 3", "0000", "192.0.2.9")
	if store.KindOf(right) != store.Refused || right.Error() != wrong.Error() {
		t.Errorf("locked: the right PIN says %v, a wrong one %v", right, wrong)
	}
	if _, err := d.Enter(t.Context(), in, false); err != nil {
		t.Errorf("a stranger's tries ended the session of the bench: %v", err)
	}
	if err := d.Unlock(t.Context(), access.Local, a.ID); err != nil {
		t.Fatal(err)
	}
	if _, _, err := d.SignIn(t.Context(), "bench 3", "4821", "192.0.2.1"); err != nil {
		t.Errorf("unlocked: %v", err)
	}
}

func TestTheLastTeacherStays(t *testing.T) {
	d, _ := door(t)
	a, err := d.Add(t.Context(), access.Local, "desk", store.Teacher, "spruce and cedar")
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := d.Forget(t.Context(), access.Local, a.ID); store.KindOf(err) != store.Invalid {
		t.Errorf("got %v", err)
	}
	if _, err := d.Add(t.Context(), access.Local, "workshop", store.Teacher, "maple and beech"); err != nil {
		t.Fatal(err)
	}
	if neutral, _, err := d.Forget(t.Context(), access.Local, a.ID); err != nil || strings.Contains(neutral, "desk") {
		t.Errorf("%q, %v", neutral, err)
	}
}

func TestClocksThatJump(t *testing.T) {
	d, now := door(t)
	if _, err := d.Add(t.Context(), access.Local, "bench 3", store.Bench, "4821"); err != nil {
		t.Fatal(err)
	}
	token, _, err := d.SignIn(t.Context(), "bench 3", "4821", "192.0.2.1")
	if err != nil {
		t.Fatal(err)
	}
	start := *now
	*now = start.AddDate(-1, 0, 0) // set back a year
	if _, err := d.Enter(t.Context(), token, false); err != nil {
		t.Errorf("set back: %v", err)
	}
	*now = start.AddDate(-1, 0, 0).Add(access.BenchIdle + time.Minute)
	if _, err := d.Enter(t.Context(), token, false); store.KindOf(err) != store.SignIn {
		t.Errorf("idle after the clock was set back: %v", err)
	}
}

// A clock that jumps back for good or ahead and back again locks nobody out and lets nobody stay for years.
func TestClocksThatJumpAtTheDoor(t *testing.T) {
	in := func(d *access.Door, name, secret string) (string, error) {
		token, _, err := d.SignIn(t.Context(), name, secret, "192.0.2.1")
		return token, err
	}
	t.Run("a teacher's wait", func(t *testing.T) {
		d, now := door(t)
		if _, err := d.Add(t.Context(), access.Local, "desk", store.Teacher, "spruce and cedar"); err != nil {
			t.Fatal(err)
		}
		for range 3 {
			*now = now.Add(time.Minute)
			if _, err := in(d, "desk", "wrong and wrong"); store.KindOf(err) != store.SignIn {
				t.Fatal(err)
			}
		}
		if _, err := in(d, "desk", "spruce and cedar"); store.KindOf(err) != store.Wait {
			t.Fatalf("before the clock is set back: %v", err)
		}
		*now = now.AddDate(0, 0, -1)
		if _, err := in(d, "desk", "spruce and cedar"); store.KindOf(err) != store.Wait {
			t.Errorf("a clock set back lifts the wait: %v", err)
		}
		*now = now.Add(2 * time.Minute)
		if _, err := in(d, "desk", "spruce and cedar"); err != nil {
			t.Errorf("two minutes after the clock was set back a day: %v", err)
		}
	})
	t.Run("a bench's lock", func(t *testing.T) {
		d, now := door(t)
		if _, err := d.Add(t.Context(), access.Local, "bench 3", store.Bench, "4821"); err != nil {
			t.Fatal(err)
		}
		for range access.LockAt {
			in(d, "bench 3", "0000")
		}
		for _, jump := range []int{10, -11} {
			*now = now.AddDate(jump, 0, 0)
			if _, err := in(d, "bench 3", "4821"); store.KindOf(err) != store.Refused {
				t.Errorf("%d years on: %v; a lock is lifted by a teacher and not by a clock", jump, err)
			}
		}
	})
	t.Run("tries from one address", func(t *testing.T) {
		d, now := door(t)
		if _, err := d.Add(t.Context(), access.Local, "bench 3", store.Bench, "4821"); err != nil {
			t.Fatal(err)
		}
		for _, jump := range []int{0, -1, 3650} {
			*now = now.AddDate(0, 0, jump)
			stopped := 0
			for range 60 {
				if _, err := in(d, "nobody", "0000"); store.KindOf(err) == store.Wait {
					stopped++
				}
			}
			if stopped < 30 {
				t.Errorf("%d days on only %d of 60 tries are held back", jump, stopped)
			}
			*now = now.Add(time.Minute)
			if _, err := in(d, "bench 3", "4821"); err != nil {
				t.Errorf("%d days on, a minute later: %v", jump, err)
			}
		}
	})
	t.Run("sessions", func(t *testing.T) {
		d, now := door(t)
		if _, err := d.Add(t.Context(), access.Local, "bench 3", store.Bench, "4821"); err != nil {
			t.Fatal(err)
		}
		start := *now
		early, err := in(d, "bench 3", "4821")
		if err != nil {
			t.Fatal(err)
		}
		*now = start.AddDate(10, 0, 0)
		if _, err := d.Enter(t.Context(), early, false); store.KindOf(err) != store.SignIn {
			t.Errorf("ten years on: %v", err)
		}
		late, err := in(d, "bench 3", "4821") // signing in works at any time
		if err != nil {
			t.Fatal(err)
		}
		*now = start
		if _, err := d.Enter(t.Context(), late, false); store.KindOf(err) != store.SignIn {
			t.Errorf("a session that would last ten years: %v", err)
		}
		again, err := in(d, "bench 3", "4821")
		if err != nil {
			t.Fatal(err)
		}
		*now = start.AddDate(0, 0, -1)
		if _, err := d.Enter(t.Context(), again, false); err != nil {
			t.Errorf("a clock set back a day ends a session: %v", err)
		}
	})
}

func TestCertificates(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "tls")
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	hosts := []string{"localhost", "127.0.0.1", "192.168.7.20", "bench-server", "bench-server.local"}
	c, err := access.Ensure(dir, hosts, now)
	if err != nil || !c.Made {
		t.Fatalf("made %v, %v", c.Made, err)
	}
	for _, name := range []string{"authority.key", "server.key"} {
		if st, err := os.Stat(filepath.Join(dir, name)); err != nil || st.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, %v", name, st.Mode(), err)
		}
	}
	// The check of another program's eyes: the standard library's own verification, as a browser makes it.
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(c.Authority) {
		t.Fatal("the authority is no certificate")
	}
	for _, h := range hosts {
		if _, err := c.Server.Leaf.Verify(x509.VerifyOptions{DNSName: h, Roots: roots, CurrentTime: now}); err != nil {
			t.Errorf("%s: %v", h, err)
		}
	}
	again, err := access.Ensure(dir, hosts, now.AddDate(0, 0, 100))
	if err != nil || again.Made || !again.Server.Leaf.Equal(c.Server.Leaf) {
		t.Errorf("opened again: made %v, %v", again.Made, err)
	}
	for _, early := range []time.Time{time.Unix(0, 0), time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)} { // a clock that lost its time
		if kept, err := access.Ensure(dir, hosts, early); err != nil || kept.Made || !kept.Server.Leaf.Equal(c.Server.Leaf) {
			t.Errorf("at %v: made %v, %v", early, kept.Made, err)
		}
	}
	renewed, err := access.Ensure(dir, hosts, now.AddDate(0, 0, 340))
	if err != nil || renewed.Made || renewed.Server.Leaf.Equal(c.Server.Leaf) {
		t.Errorf("soon over: made %v, %v", renewed.Made, err)
	}
	moved, err := access.Ensure(dir, append(slices.Clone(hosts), "10.0.0.5"), now)
	if err != nil || moved.Made || moved.Server.Leaf.VerifyHostname("10.0.0.5") != nil {
		t.Errorf("another address: made %v, %v", moved.Made, err)
	}
	if err := os.WriteFile(filepath.Join(dir, "server.crt"), []byte("spoilt"), 0o600); err != nil {
		t.Fatal(err)
	}
	if c, err := access.Ensure(dir, hosts, now); err != nil || c.Made {
		t.Errorf("spoilt: made %v, %v", c.Made, err)
	}
	if _, err := access.Ensure(dir, []string{"shop.example.org"}, now); err == nil {
		t.Error("the shop vouches for a name of the internet")
	}
	if print, err := access.Fingerprint(c.Authority); err != nil || len(print) != 32*3-1 {
		t.Errorf("fingerprint %q, %v", print, err)
	}
}

// A phone that trusts the shop's authority stays safe from anybody who steals its key: it vouches for no site
// of the internet.
func TestTheAuthorityVouchesForTheShopOnly(t *testing.T) {
	c, err := access.Ensure(filepath.Join(t.TempDir(), "tls"), []string{"localhost"}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	block, _ := pem.Decode(c.Authority)
	ca, err := x509.ParseCertificate(block.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	if !ca.PermittedDNSDomainsCritical || len(ca.PermittedDNSDomains) == 0 || len(ca.PermittedIPRanges) == 0 || !ca.MaxPathLenZero {
		t.Errorf("authority's limits: %v %v", ca.PermittedDNSDomains, ca.PermittedIPRanges)
	}
	for host, want := range map[string]bool{"192.168.1.4": true, "10.1.1.1": true, "8.8.8.8": false, "fd00::1": true, "2001:db8::1": false,
		"bench.local": true, "bench": true, "example.org": false, "local.example.org": false, "": false, "shop.home.arpa": true} {
		if got := access.OwnHost(host); got != want {
			t.Errorf("%q is the shop's own: %v", host, got)
		}
	}
}
