package service

import (
	"encoding/json"
	"slices"
	"testing"

	"overhang/analytics/units"
	"overhang/models"
)

// Every kind of record whose history can be asked for is one that the trail can
// be narrowed to, and none is there twice.
func TestTheTrailKnowsEveryKind(t *testing.T) {
	kinds := RecordKinds()
	if n := len(slices.Compact(slices.Clone(kinds))); n != len(kinds) {
		t.Errorf("%d kinds are named %d times", n, len(kinds))
	}
	for kind := range historyNeeds {
		if !slices.Contains(kinds, kind) {
			t.Errorf("the trail does not know a %s", kind)
		}
	}
}

// What stands in the trail as JSON comes back as the types of the record.
func TestTrailValues(t *testing.T) {
	day := units.NewDate(2015, 8, 3)
	for _, c := range []struct {
		record, column, kept string
		want                 any
	}{
		{"branch", "labour_rate", "6200", units.Money(6200)},
		{"branch", "neighbour_radius", "300", 300 * units.Metre},
		{"roof", "laid_on", `"2015-08-03"`, day},
		{"roof", "laid_precision", `"about"`, units.About},
		{"roof", "ours", "true", true},
		{"covering", "price_per_square", "null", nil},
		{"roof", "a column that is gone", `"x"`, "x"},
		{"a record that is gone", "name", "7", 7.0},
	} {
		fields, err := TrailFields(models.AuditEntry{Record: c.record, Changes: `{"` + c.column + `":[null,` + c.kept + `]}`})
		if err != nil || len(fields) != 1 || fields[0].Column != c.column || fields[0].From != nil || fields[0].To != c.want {
			t.Errorf("%s %s is read as %#v, %v; want %#v", c.record, c.column, fields, err, c.want)
		}
	}
	if _, err := TrailFields(models.AuditEntry{Record: "roof", Changes: "{"}); err == nil {
		t.Error("an entry that is broken is read")
	}
	if v := trailValue(nil, json.RawMessage("{")); v != "{" {
		t.Errorf("a value that is broken is read as %v", v)
	}
}
