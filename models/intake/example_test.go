package intake_test

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"overhang/models/intake"
)

// A file is read row by row; what is wrong with a row is told with its line, and
// a row is held against what is kept.
func ExampleSheet_Open() {
	file := "ref;area_ft2;ended_on\nR-0001;2450;\nR-0002;2450,5;11/05/2019\n"
	rows, err := intake.Roofs.Open(strings.NewReader(file))
	if err != nil {
		fmt.Println(err)
		return
	}
	for {
		line, err := rows.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			fmt.Println(err)
			return
		}
		var kept intake.Roof
		for _, c := range line.Apply(&kept, false) {
			fmt.Printf("%s: %s becomes %s\n", line.Name(), c.Field, c.To)
		}
		for _, r := range line.Refusals {
			fmt.Printf("line %d, %s %q: %s\n", r.Line, r.Field, r.Value, r.Rule)
		}
	}
	// Output:
	// R-0001: ref becomes R-0001
	// R-0001: area_ft2 becomes 2450
	// R-0002: ref becomes R-0002
	// R-0002: area_ft2 becomes 2450.5
	// line 3, ended_on "11/05/2019": may be 2019-11-05 or 2019-05-11; write year-month-day
}
