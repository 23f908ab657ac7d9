package hindsight

import "fmt"

// says tells the whole in sentences.
func (r *Result) says() []string {
	l := &r.Lives
	out := []string{fmt.Sprintf("%d estimates of %d roofs are held against what was seen later; %d of these roofs have worn out.", l.Cases, l.Roofs, l.WornOutRoofs)}
	if l.Ratio != nil {
		text := fmt.Sprintf("Worn out by now were foretold %.1f times and seen %d times", l.Foretold, l.WornOut)
		if l.Ratio.Low != nil {
			text += fmt.Sprintf(": %.2f times as many (%.2f to %.2f)", l.Ratio.Value, *l.Ratio.Low, *l.Ratio.High)
		}
		out = append(out, text+".")
	}
	out = append(out, map[Verdict]string{
		TooFew:     "That is too few to say how right the years were.",
		NotRefuted: "The foretold chances are not refuted: their curve stays within what chance alone does.",
		TooLate:    "The estimates of the years were too hopeful: roofs wore out earlier than foretold.",
		TooEarly:   "The estimates of the years were too gloomy: roofs wore out later than foretold.",
		TooSure:    "The ranges of the years were too narrow.",
		TooUnsure:  "The ranges of the years were too wide.",
		Off:        "The foretold chances do not fit what was seen, neither by their middle nor by their width alone.",
	}[l.Verdict])
	for _, v := range l.Rivals {
		out = append(out, against(v, "years, to "+fmt.Sprintf("%.0f years ahead", r.HorizonYears)))
	}
	if r.Readings != nil {
		n := r.Readings
		text := fmt.Sprintf("The next reading was foretold %d times; on average it was %.1f points %s than foretold", n.Cases, abs(n.Error.Value), higher(n.Error.Value))
		if s := n.Within.Share; s != nil {
			text += fmt.Sprintf(", and %.0f in 100 lay in the range that should hold 80", 100*s.Value)
		}
		out = append(out, text+".")
		for _, v := range n.Rivals {
			out = append(out, against(v, "points of the next reading"))
		}
	}
	return append(out, "What has not been refuted is not proved, and a roof's own years hang on that roof. An estimate never takes the place of a look.")
}

func abs(v float64) float64 {
	return max(v, -v)
}

func higher(v float64) string {
	if v < 0 {
		return "lower"
	}
	return "higher"
}

func against(v Versus, unit string) string {
	text := fmt.Sprintf("Mean error against %s: ours %.2f, theirs %.2f %s", v.Rival, v.Ours, v.Theirs, unit)
	d := v.Difference
	switch {
	case d.Low == nil:
		return text + "; too few roofs to tell them apart."
	case *d.Low > 0:
		return text + "; ours is the better."
	case *d.High < 0:
		return text + "; theirs is the better."
	}
	return text + "; chance alone could make that difference."
}
