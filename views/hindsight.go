package views

// HindsightPage says how right the estimates of the years left have been.
type HindsightPage struct {
	Frame
	Curve         *Chart // nil where there is nothing to draw yet
	ReadingsCurve *Chart
	Rivals        Table
	Groups        []Table
	Cannot        []Phrase
}

// Template is "hindsight".
func (HindsightPage) Template() string { return "hindsight" }

// HindsightCasesPage lists past estimates with what was seen since.
type HindsightCasesPage struct {
	Frame
	Table Table
}

// Template is "hindsight_cases".
func (HindsightCasesPage) Template() string { return "hindsight_cases" }
