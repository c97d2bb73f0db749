package web_test

import (
	"net/http"
	"testing"
)

// The design page pictures the top while it is typed, names what keeps it from being drawn, and keeps quiet about a guitar that says
// nothing of its body.
func TestDesignPagePicturesTheTop(t *testing.T) {
	b := newDemo(t)
	path := "/guitar/" + b.guitar("Dunlin").Guitar.ID + "/design"
	p := b.get(path).want(http.StatusOK, "The top", "1 upper transverse", "5 fan 3", "Dashed: bridge")
	form := p.form(path)
	form.Set("brace_list", "fan 3: none\r\nside bar: from 120; 140 to 160; 150 wide 5 high 6")
	b.post(path+"/try", form).want(http.StatusOK, "Not saved yet", "side bar").lacks("5 fan 3")
	form.Set("hole_diameter", "280")
	b.post(path+"/try", form).want(http.StatusOK, "The body cannot be drawn yet", "soundhole diameter")
	form.Set("brace_list", "fan 3 is gone")
	b.post(path+"/try", form).want(http.StatusUnprocessableEntity, "begin with the brace's name and a colon")
	for _, k := range []string{"body_length", "lower_width", "lower_at", "waist_width", "waist_at", "upper_width", "upper_at", "hole_diameter", "brace_list"} {
		form.Set(k, "")
	}
	b.post(path+"/try", form).want(http.StatusOK, "Not saved yet").lacks("Dashed: bridge", "The body cannot be drawn yet")
}
