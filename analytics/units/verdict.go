package units

// Verdict is what can be said of a rule.
type Verdict string

// The verdicts. NotKnown means that what is there could satisfy the rule or
// not, for want of a measurement.
const (
	Passes   Verdict = "passes"
	Fails    Verdict = "fails"
	NotKnown Verdict = "not known"
)
