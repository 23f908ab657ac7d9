package details

import (
	"fmt"

	"overhang/analytics/units"
)

const practice = "common practice, no source"

// rule is where a matter stands: a section of the American code and the edition
// of ours in which it is first known to stand, and one of the Canadian codes.
// An empty section is none known.
type rule struct {
	irc       string
	since     int
	ircSource string
	nbc       string
	nbcSource string
}

var (
	ofPractice = rule{}
	valleyRule = rule{"R905.2.8.2", 2006, "a city's copy of R905.2.8.2, read", "9.26.4.", "from memory"}
	sidewall   = rule{"R905.2.8.3", 2006, "a city's copy of R905.2.8.3, read", "", ""}
	kickout    = rule{"R903.2.1", 2012, "from memory", "", ""}
	dripEdge   = rule{"R905.2.8.5", 2012, "sizes second-hand (IBC 1507.2.8.3 is alike); that editions before 2012 do not ask for it, from memory", "", ""}
	saddleOf   = map[string]rule{
		"chimney":     {"R1003.20", 2006, "second-hand", "9.26.4.", "from memory"},
		"penetration": {"R903.2.2", 2012, "second-hand; the first edition that has it from memory", "", ""},
	}
	eaveCover = rule{"R905.1.2", 2006, "second-hand", "9.26.5.2.", "from memory"}
)

// cite gives code, edition and section, the source, and whether the edition
// asks. An edition that is not given may ask.
func (d detail) cite(r rule) (cites, source string, asks bool) {
	switch e := d.edition; {
	case r.irc == "" && r.nbc == "":
		return practice, practice, false
	case e == nil:
		return "IRC, " + r.irc + " (edition not given)", r.ircSource, true
	case e.Canadian && r.nbc == "":
		return practice, fmt.Sprintf("%s; no section of %s is known here to ask for it", practice, e), false
	case e.Canadian:
		return fmt.Sprintf("%s, %s", e, r.nbc), r.nbcSource, true
	case e.Year < r.since:
		return practice, fmt.Sprintf("%s; %s does not ask for it, %s does from %d", practice, e, r.irc, r.since), false
	}
	section := r.irc
	if r == eaveCover && d.edition.Year < 2015 {
		section = "R905.2.7.1"
	}
	return fmt.Sprintf("%s, %s", d.edition, section), r.ircSource, true
}

// finding begins a finding under a rule.
func (d detail) finding(key string, r rule, severity Severity, why string) Finding {
	f := Finding{Key: key, Severity: severity, Why: why, Verdict: NotKnown}
	f.Cites, f.Source, _ = d.cite(r)
	return f
}

func (d detail) small(m float64) string { return d.system.SmallLength(units.Length(m)) }

// canadian says whether a Canadian edition judges.
func (d detail) canadian() bool { return d.edition != nil && d.edition.Canadian }
