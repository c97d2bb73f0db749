package web

import (
	"encoding/csv"
	"encoding/pem"
	"fmt"
	"net/http"
	"strings"
	"time"

	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/internal/access"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/language"
	"fairset/unit"

	"rsc.io/qr"
)

// trailMost is how many lines of the trail a page shows; the file has ten times as many.
const trailMost = 500

var errNotShared = refuse(http.StatusNotFound, "This shop is not shared: there is nothing to sign in to. fairset serve --share shares it.")

// door returns the shared shop's door.
func (in *request) door() (*access.Door, error) {
	if in.srv.share == nil {
		return nil, errNotShared
	}
	return in.srv.share.Door, nil
}

// signInData is the page to sign in.
type signInData struct {
	layout
	Name, Wrong, To string
	Trust           bool
}

func signInPage(in *request) error {
	if _, err := in.door(); err != nil {
		return err
	}
	return in.signInForm(http.StatusOK, signInData{To: localPath(in.URL.Query().Get("to"))})
}

func (in *request) signInForm(status int, d signInData) error {
	d.layout = in.layout("Sign in")
	d.Path = "/sign-in"
	d.Trust = in.srv.share.Authority != nil
	return in.render(status, "signin", d)
}

func signIn(in *request) error {
	door, err := in.door()
	if err != nil {
		return err
	}
	if err := in.ParseForm(); err != nil {
		return err
	}
	d := signInData{Name: strings.TrimSpace(in.PostForm.Get("name")), To: localPath(in.PostForm.Get("to"))}
	token, a, err := door.SignIn(in.Context(), d.Name, in.PostForm.Get("secret"), access.Place(in.Request))
	if err != nil {
		if status := shop.Status(err); status < http.StatusInternalServerError {
			d.Wrong = in.sentence(err)
			return in.signInForm(status, d)
		}
		return err
	}
	// What the browser showed before is ended: nobody goes on under a name that was left.
	if in.signedIn && in.who.Session != "" {
		if err := door.People.EndSession(in.Context(), in.who.Session); err != nil {
			return err
		}
	}
	door.Give(in.w, token)
	in.setCookie(cookieBench, a.Name, keepFor)
	return in.back(d.To, "Signed in as %s.", a.Name)
}

// accountData is somebody's own page.
type accountData struct {
	layout
	Sessions         []sessionRow
	Scripts          []sessionRow
	SecretWrong      string
	TokenWrong       string
	Token            string // shown once
	Least            int
	MostScripts      int
	TeacherHours     int
	BenchHours, Days int
}

type sessionRow struct {
	Hash, Label, Made, Seen string
	This                    bool
}

func accountPage(in *request) error { return in.account(http.StatusOK, accountData{}) }

func (in *request) account(status int, d accountData) error {
	door, err := in.door()
	if err != nil {
		return err
	}
	d.layout = in.layout("Your sign-in")
	d.Path = "/account"
	d.Least, d.MostScripts = access.LeastPIN, access.MostScripts
	if in.who.Teacher() {
		d.Least = access.LeastPassphrase
	}
	all, err := door.People.Sessions(in.Context(), in.who.Account)
	if err != nil {
		return err
	}
	for _, s := range all {
		row := sessionRow{s.Hash, s.Label, in.when(s.Made), in.when(s.Seen), s.Hash == in.who.Session}
		if s.Kind == store.ScriptSession {
			d.Scripts = append(d.Scripts, row)
		} else {
			d.Sessions = append(d.Sessions, row)
		}
	}
	return in.render(status, "account", d)
}

func signOut(in *request) error {
	door, err := in.door()
	if err != nil {
		return err
	}
	if err := in.ParseForm(); err != nil {
		return err
	}
	everywhere := in.PostForm.Get("everywhere") == "yes"
	if err := door.SignOut(in.Context(), in.who, everywhere); err != nil {
		return err
	}
	door.Give(in.w, "")
	if everywhere {
		return in.back("/sign-in", "Signed out on every phone, tablet and script.")
	}
	return in.back("/sign-in", "Signed out.")
}

// ownSecret changes the PIN or passphrase of whoever asks; the one in use must be typed again.
func ownSecret(in *request) error {
	door, err := in.door()
	if err != nil {
		return err
	}
	if err := in.ParseForm(); err != nil {
		return err
	}
	wrong := func(err error) error {
		if shop.Status(err) >= http.StatusInternalServerError {
			return err
		}
		return in.account(shop.Status(err), accountData{SecretWrong: in.sentence(err)})
	}
	if err := in.secretTwice(); err != nil {
		return wrong(err)
	}
	if _, err := door.Prove(in.Context(), in.who.Name, in.PostForm.Get("now"), access.Place(in.Request)); err != nil {
		if store.KindOf(err) == store.SignIn {
			err = store.Errorf(store.Invalid, err, "The PIN or passphrase in use is another.")
		}
		return wrong(err)
	}
	if err := door.SetSecret(in.Context(), in.who, in.who.Account, in.PostForm.Get("secret")); err != nil {
		return wrong(err)
	}
	door.Give(in.w, "")
	return in.back("/sign-in", "Changed. Sign in with the new one.")
}

// secretTwice checks that a new secret was typed the same way twice.
func (in *request) secretTwice() error {
	if in.PostForm.Get("secret") != in.PostForm.Get("again") {
		return store.Errorf(store.Invalid, nil, "The two are not the same. Type the new one twice.")
	}
	return nil
}

func newToken(in *request) error {
	door, err := in.door()
	if err != nil {
		return err
	}
	if err := in.ParseForm(); err != nil {
		return err
	}
	token, err := door.NewScript(in.Context(), in.who, in.PostForm.Get("label"))
	if err != nil {
		if store.KindOf(err) == store.Invalid {
			return in.account(http.StatusUnprocessableEntity, accountData{TokenWrong: in.sentence(err)})
		}
		return err
	}
	return in.account(http.StatusOK, accountData{Token: token})
}

// endSession ends one of one's own sessions or tokens.
func endSession(in *request) error {
	door, err := in.door()
	if err != nil {
		return err
	}
	if err := in.ParseForm(); err != nil {
		return err
	}
	s, err := door.People.Session(in.Context(), in.PostForm.Get("hash"))
	if err != nil || s.Account != in.who.Account {
		return refuse(http.StatusNotFound, "That one has ended already.")
	}
	if err := door.People.EndSession(in.Context(), s.Hash); err != nil {
		return err
	}
	return in.back("/account", "Ended.")
}

// peopleData lists who may sign in.
type peopleData struct {
	layout
	People  []person
	Wrong   string
	Name    string
	Role    string
	Address string
	Code    figure // the address for a phone's camera
	Trust   bool
}

type person struct {
	ID, Name, Made  string
	Role            unit.Text
	Teacher, Locked bool
	Guitars         unit.Phrase // how many are theirs
	Photos          []shot
	Added           unit.Phrase // how many photos they added
}

func peoplePage(in *request) error {
	return in.people(http.StatusOK, peopleData{Role: string(store.Bench)})
}

func (in *request) people(status int, d peopleData) error {
	door, err := in.door()
	if err != nil {
		return err
	}
	d.layout = in.layout("People")
	d.Path = "/people"
	all, err := door.People.Accounts(in.Context())
	if err != nil {
		return err
	}
	guitars, err := in.srv.shop.Guitars(in.Context())
	if err != nil {
		return err
	}
	owned := map[string]int{}
	for _, v := range guitars {
		owned[v.Owner]++
	}
	for _, a := range all {
		photos, err := in.srv.shop.PhotosBy(in.Context(), a.ID)
		if err != nil {
			return err
		}
		row := person{ID: a.ID, Name: a.Name, Made: in.when(a.Made), Role: "bench‖who may sign in", Teacher: a.Role == store.Teacher, Locked: a.Locked,
			Guitars: unit.Plural(owned[a.ID], "%d guitar", "%d guitars"),
			Added:   unit.Plural(len(photos), "%d photo was added by %s:", "%d photos were added by %s:", a.Name)}
		if row.Teacher {
			row.Role = "teacher"
		}
		for _, p := range photos {
			row.Photos = append(row.Photos, in.shot(p))
		}
		d.People = append(d.People, row)
	}
	d.Address, d.Trust = in.srv.share.Address, in.srv.share.Authority != nil
	code, err := codeSheet(d.Address, in.prefs.Units)
	if err != nil {
		return err
	}
	d.Code = figure{ID: "code", Sheet: code}
	return in.render(status, "people", d)
}

// codeSheet draws an address as a square code for a phone's camera, with the four modules of empty rim that
// readers need. source: ISO/IEC 18004, quiet zone.
func codeSheet(address string, style unit.Style) (*drawing.Sheet, error) {
	c, err := qr.Encode(address, qr.M)
	if err != nil {
		return nil, fmt.Errorf("draw the address as a code: %w", err)
	}
	const quiet = 4
	n := c.Size + 2*quiet
	s := &drawing.Sheet{Title: style.Say("The address as a code"), Desc: style.Say("A square code that a phone's camera reads as the address %s.", address), Width: unit.Length(n) * unit.MM, Height: unit.Length(n) * unit.MM}
	at := func(x, y int) drawing.Point { return drawing.At(float64(quiet+x), float64(n-quiet-y)) }
	for y := range c.Size {
		for x := 0; x < c.Size; x++ {
			from := x
			for x < c.Size && c.Black(x, y) {
				x++
			}
			if x > from {
				s.Add(drawing.Item{Layer: drawing.LayerMark, Fill: drawing.Ink, Pen: drawing.Pen{None: true},
					Shape: drawing.Polyline{Points: []drawing.Point{at(from, y), at(x, y), at(x, y+1), at(from, y+1)}, Closed: true}})
			}
		}
	}
	return s, nil
}

func addPerson(in *request) error {
	door, err := in.door()
	if err != nil {
		return err
	}
	if err := in.ParseForm(); err != nil {
		return err
	}
	d := peopleData{Name: in.PostForm.Get("name"), Role: in.PostForm.Get("role")}
	err = in.secretTwice()
	if err == nil {
		_, err = door.Add(in.Context(), in.who, d.Name, store.Role(d.Role), in.PostForm.Get("secret"))
	}
	if err != nil {
		if store.KindOf(err) == store.Invalid {
			d.Wrong = in.sentence(err)
			return in.people(http.StatusUnprocessableEntity, d)
		}
		return err
	}
	return in.back("/people", "%s can sign in now.", strings.TrimSpace(d.Name))
}

func setSecret(in *request) error {
	door, err := in.door()
	if err != nil {
		return err
	}
	if err := in.ParseForm(); err != nil {
		return err
	}
	if err = in.secretTwice(); err == nil {
		err = door.SetSecret(in.Context(), in.who, in.PathValue("id"), in.PostForm.Get("secret"))
	}
	if store.KindOf(err) == store.Invalid && err != nil {
		return in.people(http.StatusUnprocessableEntity, peopleData{Wrong: in.sentence(err), Role: string(store.Bench)})
	}
	if err != nil {
		return err
	}
	return in.back("/people", "Changed. Whoever was signed in with the old one is signed out.")
}

func unlock(in *request) error {
	door, err := in.door()
	if err != nil {
		return err
	}
	if err := door.Unlock(in.Context(), in.who, in.PathValue("id")); err != nil {
		return err
	}
	return in.back("/people", "The lock is lifted.")
}

func forget(in *request) error {
	door, err := in.door()
	if err != nil {
		return err
	}
	if err := in.ParseForm(); err != nil {
		return err
	}
	if in.PostForm.Get("sure") != "yes" {
		return in.people(http.StatusUnprocessableEntity, peopleData{Wrong: in.tell("Tick that you mean it: a removed account cannot be brought back."), Role: string(store.Bench)})
	}
	var photos []store.Photo
	if in.PostForm.Get("photos") == "erase" {
		if photos, err = in.srv.shop.PhotosBy(in.Context(), in.PathValue("id")); err != nil {
			return err
		}
	}
	neutral, n, err := door.Forget(in.Context(), in.who, in.PathValue("id"))
	if store.KindOf(err) == store.Invalid && err != nil {
		return in.people(http.StatusUnprocessableEntity, peopleData{Wrong: in.sentence(err), Role: string(store.Bench)})
	}
	if err != nil {
		return err
	}
	say := in.tell("Removed. In %d places the name now reads “%s”.", n, neutral)
	if len(photos) > 0 {
		erased, err := in.srv.shop.ErasePhotos(in.Context(), photos)
		if err != nil {
			in.srv.log.Error("photos were not erased", "err", err)
			return in.back("/people", "%s The photos are still there: %s Erase them one by one on their guitars' pages.", say, in.sentence(err))
		}
		say += " " + in.tell("%d photos are erased.", erased)
	}
	return in.back("/people", "%s", say)
}

// assign gives a guitar to a bench.
func assign(in *request) error {
	if _, err := in.door(); err != nil {
		return err
	}
	if err := in.ParseForm(); err != nil {
		return err
	}
	v, err := in.guitar()
	if err != nil {
		return err
	}
	if v, err = in.srv.shop.Assign(in.Context(), v.Guitar.ID, in.PostForm.Get("owner")); err != nil {
		return err
	}
	return in.back(guitarURL(v.Guitar.ID), "Given on.")
}

// ownerForm is the choice of whose guitar it is, for a teacher of a shared shop.
type ownerForm struct {
	ID     string
	Owners []ownerChoice
}

type ownerChoice struct {
	ID, Name string
	On       bool
}

func (in *request) ownerForm(v shop.View) (*ownerForm, error) {
	if in.srv.share == nil || !in.who.Teacher() {
		return nil, nil
	}
	all, err := in.srv.share.Door.People.Accounts(in.Context())
	if err != nil {
		return nil, err
	}
	f := &ownerForm{ID: v.Guitar.ID, Owners: []ownerChoice{{"", in.tell("nobody's: teachers only"), v.Owner == ""}}}
	for _, a := range all {
		if a.Role == store.Bench {
			f.Owners = append(f.Owners, ownerChoice{a.ID, a.Name, a.ID == v.Owner})
		}
	}
	return f, nil
}

// trailData is what was done in the shop.
type trailData struct {
	layout
	Rows []trailRow
	Most int
}

type trailRow struct{ When, Stamp, Who, Did, Guitar, ID string }

// trailRows writes the trail in words.
func (in *request) trailRows(n int) ([]trailRow, error) {
	all, err := in.srv.shop.Trail(in.Context(), n)
	if err != nil {
		return nil, err
	}
	out := make([]trailRow, 0, len(all))
	for _, d := range all {
		r := trailRow{When: in.when(d.At), Stamp: d.At.UTC().Format(time.RFC3339), Who: d.Who, Did: in.say(d.Says()), Guitar: d.Name, ID: d.Guitar}
		if d.Log != nil {
			r.Did = in.tell("entry %d, %v", d.Log.Seq, entryName(d.Step))
			if words := in.entryFigures(d); words != "" {
				r.Did += ": " + words
			}
			if d.Log.Undone {
				r.Did = in.tell("%s (undone since)", r.Did)
			}
		}
		out = append(out, r)
	}
	return out, nil
}

// entryFigures tells which figures an entry gave, as typed; what was chosen, by its name.
func (in *request) entryFigures(d shop.Done) string {
	if d.Step == guitar.StepNote {
		return ""
	}
	var parts []string
	for _, f := range d.Fields {
		if f.Field == guitar.NoteKey {
			continue // what was written is the guitar's, not the trail's
		}
		var texts []string
		for _, v := range d.Log.Values[f.Field] {
			if len(f.Choices) > 0 {
				texts = append(texts, f.Write(v, in.prefs.Units))
				continue
			}
			texts = append(texts, v.Text)
		}
		if d.Log.Values.Has(f.Field) {
			parts = append(parts, in.say(f.Label)+" "+strings.Join(texts, ", "))
		}
	}
	return strings.Join(parts, "; ")
}

func trailPage(in *request) error {
	if _, err := in.door(); err != nil {
		return err
	}
	rows, err := in.trailRows(trailMost)
	if err != nil {
		return err
	}
	return in.render(http.StatusOK, "trail", trailData{layout: in.layout("Who did what"), Rows: rows, Most: trailMost})
}

// trailFile serves the trail as CSV.
func trailFile(in *request) error {
	if _, err := in.door(); err != nil {
		return err
	}
	in.prefs.Units = in.prefs.Units.Speaking(language.English) // a table is for programs
	rows, err := in.trailRows(10 * trailMost)
	if err != nil {
		return err
	}
	in.w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	in.w.Header().Set("Content-Disposition", `attachment; filename="trail.csv"`)
	c := csv.NewWriter(in.w)
	if err := c.Write([]string{"time", "who", "what", "guitar", "guitar id"}); err != nil {
		return err
	}
	for _, r := range rows {
		if err := c.Write([]string{r.Stamp, unit.Cell(r.Who), unit.Cell(r.Did), unit.Cell(r.Guitar), r.ID}); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// trustData tells how a phone learns to trust the shop's own certificate.
type trustData struct {
	layout
	Address string
	Print   string // SHA-256 fingerprint, to compare
}

func trustPage(in *request) error {
	if _, err := in.door(); err != nil {
		return err
	}
	if in.srv.share.Authority == nil {
		return errNoAuthority
	}
	print, err := access.Fingerprint(in.srv.share.Authority)
	if err != nil {
		return err
	}
	return in.render(http.StatusOK, "trust", trustData{in.layout("Trust this shop"), in.srv.share.Address, print})
}

var errNoAuthority = refuse(http.StatusNotFound, "This shop uses a certificate that phones trust already; there is nothing to do.")

// trustFile serves the certificate as phones want it.
func trustFile(in *request) error {
	if _, err := in.door(); err != nil {
		return err
	}
	block, _ := pem.Decode(in.srv.share.Authority)
	if block == nil {
		return errNoAuthority
	}
	in.w.Header().Set("Content-Type", "application/x-x509-ca-cert")
	in.w.Header().Set("Content-Disposition", `attachment; filename="shop.crt"`)
	_, _ = in.w.Write(block.Bytes) // a phone that went away is no trouble
	return nil
}
