package models

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"overhang/analytics/units"
)

// Every column of the terms decides a promise, but for those that are named here:
// one that is added later is guarded from the first day.
func TestWhichColumnsOfTermsDecideAPromise(t *testing.T) {
	free := []string{"key", "name", "ended_on"}
	was := Terms{Steps: JSON[Step]{{FromMonth: 12, Share: 0.5}}, Conditions: JSON[Condition]{{Kind: "paid_in_full"}, {Kind: "registered", Days: 60}},
		Cap: ptr(units.Money(5)), Wording: "One line.\nAnother."}
	for i := range reflect.TypeFor[Terms]().NumField() {
		column := reflect.TypeFor[Terms]().Field(i).Tag.Get("json")
		if column == "" {
			continue // the row
		}
		is := was
		f := reflect.ValueOf(&is).Elem().Field(i)
		switch v := f.Addr().Interface().(type) {
		case *string:
			*v += "x"
		case *int:
			*v++
		case *bool:
			*v = !*v
		case *units.Date:
			*v++
		case **units.Money:
			*v = ptr(units.Money(77))
		case **float64:
			*v = ptr(0.5)
		case **int:
			*v = ptr(3)
		case *JSON[Step]:
			*v = JSON[Step]{{FromMonth: 12, Share: 0.4}}
		case *JSON[Condition]:
			*v = JSON[Condition]{{Kind: "paid_in_full"}, {Kind: "registered", Days: 30}}
		default:
			t.Fatalf("%s is of the type %T, which this test does not know", column, v)
		}
		err := is.StaysAs(&was, 3)
		if slices.Contains(free, column) {
			if err != nil {
				t.Errorf("%s: %v", column, err)
			}
			continue
		}
		if err == nil || len(err.(*Error).Fields) != 1 || err.(*Error).Fields[0].Field != column || !strings.Contains(err.Error(), "3 warranties rest on these terms") {
			t.Errorf("%s: %v", column, err)
		}
	}
	for name, change := range map[string]func(t *Terms){
		"the order of the conditions": func(t *Terms) { t.Conditions = JSON[Condition]{was.Conditions[1], was.Conditions[0]} },
		"the ends of lines":           func(t *Terms) { t.Wording = " One line.\r\nAnother.\n" },
		"nothing":                     func(t *Terms) {},
	} {
		is := was
		change(&is)
		if err := is.StaysAs(&was, 1); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	// A cap of nothing was never counted, and is refused today.
	none, zero := Terms{}, Terms{Cap: new(units.Money)}
	if err := none.StaysAs(&zero, 1); err != nil {
		t.Error(err)
	}
}
