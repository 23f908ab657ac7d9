package models

import (
	"strings"
	"unicode"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
)

// abbreviations are the short forms that addresses are written with; both
// spellings fold to the short one. Source: US Postal Service Publication 28,
// appendix C1, and Canada Post's addressing guidelines (from memory).
var abbreviations = map[string]string{
	"street": "st", "avenue": "ave", "av": "ave", "road": "rd", "drive": "dr", "lane": "ln", "court": "ct",
	"boulevard": "blvd", "boul": "blvd", "place": "pl", "terrace": "ter", "crescent": "cres", "circle": "cir",
	"highway": "hwy", "square": "sq", "parkway": "pkwy", "trail": "trl", "way": "way", "close": "cl",
	"north": "n", "south": "s", "east": "e", "west": "w", "saint": "st", "apartment": "apt", "unit": "apt",
	"rue": "st", "chemin": "rd",
}

// Fold writes a name or an address in the form in which it is searched: lower
// case, without accents or punctuation, street words shortened, single spaces.
func Fold(s string) string {
	stripped, _, err := transform.String(transform.Chain(norm.NFD, runes.Remove(runes.In(unicode.Mn)), norm.NFC), s)
	if err != nil {
		stripped = s
	}
	words := strings.FieldsFunc(strings.ToLower(strings.ReplaceAll(stripped, "'", "")), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	})
	for i, w := range words {
		if short, found := abbreviations[w]; found {
			words[i] = short
		}
	}
	return strings.Join(words, " ")
}

// FoldPhone keeps the digits of a telephone number, without a leading country
// code 1 (North American Numbering Plan).
func FoldPhone(s string) string {
	digits := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, s)
	if len(digits) == 11 && digits[0] == '1' {
		return digits[1:]
	}
	return digits
}
