package server

import (
	"net/url"
	"regexp"
	"strings"
	"testing"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

var (
	fieldTag = regexp.MustCompile(`<input[^>]*>`)
	nameAttr = regexp.MustCompile(`name="([^"]*)"`)
	valueOf  = regexp.MustCompile(`value="([^"]*)"`)
	selected = regexp.MustCompile(`(?s)<select[^>]*name="([^"]*)".*?</select>`)
	chosen   = regexp.MustCompile(`<option[^>]*value="([^"]*)"[^>]*selected`)
	longText = regexp.MustCompile(`(?s)<textarea[^>]*name="([^"]*)"[^>]*>(.*?)</textarea>`)
)

// shown reads what a form shows, as a browser would send it back.
func shown(body string) url.Values {
	out := url.Values{}
	for _, tag := range fieldTag.FindAllString(body, -1) {
		name, value := nameAttr.FindStringSubmatch(tag), valueOf.FindStringSubmatch(tag)
		if name == nil || (strings.Contains(tag, `type="radio"`) && !strings.Contains(tag, "checked")) {
			continue
		}
		v := ""
		if value != nil {
			v = value[1]
		}
		out.Set(name[1], v)
	}
	for _, s := range selected.FindAllStringSubmatch(body, -1) {
		out.Set(s[1], "")
		if c := chosen.FindStringSubmatch(s[0]); c != nil {
			out.Set(s[1], c[1])
		}
	}
	for _, s := range longText.FindAllStringSubmatch(body, -1) {
		out.Set(s[1], s[2])
	}
	out.Del("csrf")
	return out
}

// Every kind of part is written down, shown, and sent back unchanged without a
// digit being lost; in both systems of units.
func TestPartsAreWrittenDown(t *testing.T) {
	for _, system := range []units.System{units.US, units.Metric} {
		t.Run(string(system), func(t *testing.T) {
			s := newSite(t)
			b, err := store.Get[models.Branch](s.service.Store.Query(t.Context()), 1)
			if err != nil {
				t.Fatal(err)
			}
			b.Units = system
			if err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error { return tx.Update(b) }); err != nil {
				t.Fatal(err)
			}
			office := s.as("office")
			for _, c := range []struct {
				kind   string
				fields url.Values
			}{
				{"structures", url.Values{"name": {"Porch"}, "kind": {"porch"}, "heated": {"no"}, "wall": {"6.5", "165"}}},
				{"attics", url.Values{"name": {"Loft"}, "vented_area": {"127.3"}, "insulation": {"3.7"}, "clear_space": {"1.5"}, "baffles": {"yes"}, "ducts": {"bare"}}},
				{"slopes", url.Values{"name": {"South"}, "attic_id": {"1"}, "facing": {"183.5"}, "pitch": {"6:12"}, "area": {"77.7"}, "overhang": {"17.25"}, "eave": {"33.3"}, "rafter": {"21.1"},
					"eave_cover": {"membrane"}, "eave_reach": {"69"}, "outline": {"ft 0,0 eave; 42,0 rake; 42,16 ridge; 0,16 rake"}}},
				{"vents", url.Values{"name": {"Ridge"}, "attic_id": {"1"}, "kind": {"ridge"}, "height": {"high"}, "length": {"31.3"}, "free_area": {"12.6"}, "blocked": {"12.5"}, "pitch_from": {"3"}, "least_run": {"10"}}},
				{"vents", url.Values{"name": {"Fan"}, "attic_id": {"1"}, "kind": {"powered"}, "height": {"high"}, "count": {"1"}, "free_area": {"55.5"}, "fan_flow": {"900"}}},
				{"gutters", url.Values{"name": {"Front"}, "kind": {"k_style"}, "material": {"aluminium"}, "width": {"5.25", "130"}, "depth": {"3.7", "95"}, "length": {"41.3"}, "fall": {"0.0625"}, "lip_reach": {"4.1"},
					"lip_drop": {"1.3"}, "downspouts": {"2"}, "downspout_area": {"6"}, "guards": {"no"}, "blocked": {"10"}}},
				{"details", url.Values{"name": {"Pipe"}, "kind": {"penetration"}, "form": {"new"}, "lap": {"66.67"}, "lower_edge_out": {"yes"}, "width": {"25"}, "notes": {"By the bath"}}},
			} {
				for name, v := range c.fields { // where one number cannot serve both systems
					if len(v) == 2 && system == units.Metric {
						v = v[1:]
					}
					c.fields[name] = v[:1]
				}
				path := "/roofs/1/parts/" + c.kind
				if got := office.post(path, c.fields); got.Status != 303 {
					t.Fatalf("%s: %d %s", path, got.Status, got.Body)
				}
				page := office.get("/roofs/1").Body
				at := regexp.MustCompile(`href="(` + path + `/[0-9]+)">` + c.fields.Get("name")).FindStringSubmatch(page)
				if at == nil {
					t.Fatalf("the roof's page does not show the %s of %s", c.kind, c.fields.Get("name"))
				}
				form := office.get(at[1]).Body
				back := shown(form)
				for name, want := range c.fields {
					got := back.Get(name)
					switch {
					case name == "pitch" && got == "6", name == "outline" && strings.HasPrefix(got, "m 0,0 eave; 12.802,0 rake"):
					case got != want[0]:
						t.Errorf("%s: %s is shown as %q, not %q", at[1], name, got, want[0])
					}
				}
				before := s.changes()
				if got := office.post(at[1], back); got.Status != 303 {
					t.Fatalf("%s sent back: %d %s", at[1], got.Status, got.Body)
				}
				if after := s.changes(); after != before {
					t.Errorf("%s: sent back as it was shown, it counts as changed", at[1])
				}
			}
		})
	}
}

// changes counts what was changed so far, by the trail.
func (s *site) changes() int64 {
	n, err := store.Revision(s.service.Store.Query(s.t.Context()))
	if err != nil {
		s.t.Fatal(err)
	}
	return n
}

func TestPartsRefuse(t *testing.T) {
	s := newSite(t)
	office := s.as("office")
	for _, c := range []struct {
		path   string
		fields url.Values
		status int
		says   string
	}{
		{"/roofs/1/parts/slopes", url.Values{"name": {"South"}, "pitch": {"steep"}}, 422, "rise in twelve"},
		{"/roofs/1/parts/slopes", url.Values{"name": {"South"}, "outline": {"ft 0,0 eave; 42,0 rake"}}, 422, "3 to 60 corners"},
		{"/roofs/1/parts/slopes", url.Values{"name": {""}}, 422, "is needed"},
		{"/roofs/1/parts/attics", url.Values{"name": {"Loft"}, "vented_area": {"-4"}}, 422, "must lie between"},
		{"/roofs/1/parts/slopes", url.Values{"name": {"South"}, "attic_id": {"99"}}, 404, "no such part"},
		{"/roofs/1/parts/chimneys", url.Values{"name": {"South"}}, 404, "no such part"},
		{"/roofs/1/parts/slopes/99", url.Values{"name": {"South"}}, 404, "no such part"},
		{"/roofs/2/parts/vents", url.Values{"name": {"Box"}, "kind": {"box"}, "height": {"high"}}, 422, "attic"},
	} {
		got := office.post(c.path, c.fields)
		if got.Status != c.status || !strings.Contains(got.Body, c.says) {
			t.Errorf("%s %v: %d, wanted %d with %q in\n%s", c.path, c.fields, got.Status, c.status, c.says, got.Body)
		}
	}
	// The second of two editors is told.
	fields := url.Values{"name": {"Main attic"}, "version": {"1"}, "ducts": {"none"}}
	if got := office.post("/roofs/1/parts/attics/1", fields); got.Status != 303 {
		t.Fatalf("the first editor: %d %s", got.Status, got.Body)
	}
	fields.Set("ducts", "bare")
	if got := office.post("/roofs/1/parts/attics/1", fields); got.Status != 409 || !strings.Contains(got.Body, "bare") {
		t.Errorf("the second editor: %d", got.Status)
	}
}
