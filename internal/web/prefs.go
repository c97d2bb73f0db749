package web

import (
	"encoding/base64"
	"net/http"
	"net/url"
	"strings"

	"fairset/craft/guitar"
	"fairset/language"
	"fairset/unit"
)

// prefs is how one maker, at one phone or tablet, likes the pages. They live in that browser's cookies.
type prefs struct {
	Units unit.Style // lengths, and the language of the words
	Bench string     // "bench 3"
	Flip  bool       // heel drawn as seen from the nut, not from the body
}

const (
	cookieUnits    = "fairset_units"
	cookieLanguage = "fairset_language"
	cookieBench    = "fairset_bench"
	cookieFlip     = "fairset_flip"
	cookieNotice   = "fairset_notice"
	keepFor        = 400 * 24 * 3600
)

// forLater marks a page that a device asks for to keep it: nobody reads it now.
const forLater = "Fairset-Keep"

func (s *server) readPrefs(r *http.Request) prefs {
	p := prefs{Units: unit.Millimetre}
	set, err := s.shop.Settings(r.Context())
	if err == nil && set.Units != "" {
		p.Units = set.Units
	}
	if u, err := unit.ParseStyle(cookie(r, cookieUnits)); err == nil {
		p.Units = u
	}
	p.Units = p.Units.Speaking(languageOf(r, set.Language))
	if name, err := guitar.CheckName("bench", cookie(r, cookieBench)); err == nil {
		p.Bench = name
	}
	p.Flip = cookie(r, cookieFlip) == "yes"
	return p
}

// parseLanguage reads a language's tag. Tests offer one more.
var parseLanguage = language.Parse

// languageOf is the language a page is asked for in: the one chosen at this phone or tablet, else the shop's, else the one its browser
// asks for.
func languageOf(r *http.Request, shops string) language.Code {
	for _, tag := range []string{cookie(r, cookieLanguage), shops} {
		if c, ok := parseLanguage(tag); ok {
			return c
		}
	}
	return language.Match(r.Header.Get("Accept-Language"))
}

// read takes up the units a form was made in: what is posted names units only, and the words stay in the reader's language.
func (p *prefs) read(units string) error {
	u, err := unit.ParseStyle(units)
	if err == nil {
		p.Units = u.Speaking(p.Units.Language())
	}
	return err
}

func cookie(r *http.Request, name string) string {
	c, err := r.Cookie(name)
	if err != nil {
		return ""
	}
	v, err := url.QueryUnescape(c.Value)
	if err != nil {
		return ""
	}
	return v
}

func (in *request) setCookie(name, value string, seconds int) {
	http.SetCookie(in.w, &http.Cookie{Name: name, Value: url.QueryEscape(value), Path: "/", MaxAge: seconds, HttpOnly: true, SameSite: http.SameSiteLaxMode})
}

// leaveNotice keeps a sentence for the next page; takeNotice takes it.
func (in *request) leaveNotice(say string) {
	if say != "" {
		in.setCookie(cookieNotice, base64.RawURLEncoding.EncodeToString([]byte(say)), 60)
	}
}

func (in *request) takeNotice() string {
	raw := cookie(in.Request, cookieNotice)
	if raw == "" || in.Header.Get(forLater) != "" {
		return ""
	}
	in.setCookie(cookieNotice, "", -1)
	b, err := base64.RawURLEncoding.DecodeString(raw)
	if err != nil {
		return ""
	}
	return strings.ToValidUTF8(string(b), "")
}

// setPrefs serves POST /prefs: units, language, bench name, flip; then back to the page it came from.
func setPrefs(in *request) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	if u := in.PostForm.Get("units"); u != "" {
		if err := in.prefs.read(u); err != nil {
			return refuse(http.StatusUnprocessableEntity, "There are no units “%s”: choose in64, inch or mm.", u)
		}
		in.setCookie(cookieUnits, u, keepFor)
	}
	if tag := in.PostForm.Get("language"); tag != "" {
		c, ok := parseLanguage(tag)
		if !ok {
			return refuse(http.StatusUnprocessableEntity, "Fairset does not speak the language “%s”.", tag)
		}
		in.setCookie(cookieLanguage, c.Tag(), keepFor)
	}
	if in.PostForm.Has("bench") {
		name := strings.TrimSpace(in.PostForm.Get("bench"))
		if name != "" {
			var err error
			if name, err = guitar.CheckName("bench", name); err != nil {
				return err
			}
		}
		in.setCookie(cookieBench, name, keepFor)
	}
	if f := in.PostForm.Get("flip"); f != "" {
		in.setCookie(cookieFlip, f, keepFor)
	}
	return in.back(localPath(in.PostForm.Get("back")), "")
}

// localPath keeps a redirect on this server: only a path that starts with one slash is followed.
func localPath(p string) string {
	u, err := url.Parse(p)
	if err != nil || u.IsAbs() || u.Host != "" || !strings.HasPrefix(u.Path, "/") || strings.HasPrefix(u.Path, "//") || strings.Contains(p, `\`) {
		return "/"
	}
	return u.RequestURI()
}
