package owed

import (
	"strconv"
	"strings"
)

// Note is something that a reader must know, as a code and a sentence.
type Note struct {
	Code     string `json:"code"`
	Number   int    `json:"number,omitempty"`
	Sentence string `json:"sentence"`
}

// sentences of the notes; {number} stands for the note's number.
var sentences = map[string]string{
	"small_sample":              "Small sample: {number} callbacks of our own. The range is wide on purpose.",
	"no_rate":                   "There is no time at risk of our own yet and no assumed rate, so nothing can be expected.",
	"no_cost":                   "No cost of a callback of our own is known and none is assumed, so no amount can be given.",
	"assumed_rate":              "An assumed rate stands in for our own history.",
	"assumed_cost":              "An assumed cost stands in for our own costs.",
	"promises_without_days":     "{number} promises lack a first or last day and are left out.",
	"callbacks_without_days":    "{number} callbacks could not be placed in a year with time at risk and raise all years alike.",
	"callbacks_borne_by_others": "{number} callbacks were borne by others and are not counted.",
	"callbacks_without_cost":    "{number} callbacks have no cost yet; they count in the rates alone.",
	"one_group_rate":            "The groups differ no more than chance would make them, so all share one rate.",
	"one_group_mean":            "The groups differ no more than the spread within them would make them, so all share one mean.",
	"no_spread_within":          "No group has two observations, so the spread within groups is not known and nothing is shrunk.",
	"joined_years":              "Single years cannot be carried forward, so years laid and years since are taken {number} at a time.",
	"part_year":                 "The year is not over, and the chain ladder takes what was paid in it for the whole year's.",
	"one_weather":               "With several lots and crews, the weather of all years is joined into one factor for the term; it keeps the mean and the spread, and the far ends are approximate.",
	"callbacks_outside_promise": "{number} callbacks happened on days on which nothing was promised and are not counted.",
	"callbacks_without_cause":   "{number} callbacks have no cause found yet and are shared out between the causes by their rates.",
	"beyond_own_history":        "Our own history reaches to roofs of {number} years; older ones are taken to wear no faster than that.",
	"no_standard_error":         "Four years laid or more are needed before a standard error can be given.",
	"nothing_paid_yet":          "{number} years laid have had nothing paid yet, so the chain ladder expects nothing for them; that is a limit of the method.",
}

func numbered(code string, number int) Note {
	return Note{Code: code, Number: number, Sentence: strings.ReplaceAll(sentences[code], "{number}", strconv.Itoa(number))}
}
