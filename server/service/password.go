package service

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"
	"golang.org/x/text/unicode/norm"

	"overhang/models"
)

// PasswordLength is the fewest characters that a password may have. There is no
// rule on which characters: length and not being guessable are what counts
// (NIST SP 800-63B-4, section 3.1.1.2).
const PasswordLength = 12

// longestPassword bounds the work of hashing. NIST SP 800-63B-4 asks for at
// least 64 to be allowed.
const longestPassword = 200

// passwordCost are the parameters of argon2id: 19 MiB of memory, 2 passes, 1
// lane (OWASP Password Storage Cheat Sheet, a minimum configuration). Salt of 16
// and key of 32 bytes are those of RFC 9106, section 4. A hash made with other
// parameters is made anew when its person next signs in.
var passwordCost = argon2id.Params{Memory: 19 * 1024, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32}

// nobodysHash is the hash of a password that nobody has, made with passwordCost.
// An unknown email is checked against it, so that it takes as long as a known
// one.
const nobodysHash = "$argon2id$v=19$m=19456,t=2,p=1$w/XQF50eR5PLy94P0caKQQ$2+s584Rz+5048ywUo4Ab+mAzriyq8J5I+0q9UXA7cLg"

// common are long passwords that are tried first. Short ones need no list:
// PasswordLength refuses them.
var common = []string{
	"123456789012", "1234567890123", "12345678901234", "123456789012345", "1234567890123456", "098765432109",
	"passwordpassword", "password1234", "password12345", "password123456", "qwertyuiop12", "qwertyuiop123", "qwertyuiopasdf",
	"qwertyqwerty", "qwerty123456", "1qaz2wsx3edc", "1q2w3e4r5t6y", "asdfghjklzxc", "abcdefghijkl", "abcd12345678", "abc123abc123",
	"iloveyou1234", "iloveyouiloveyou", "letmeinletmein", "letmein12345", "welcome12345", "administrator", "admin1234567",
	"changemechangeme", "changeme1234", "sunshine1234", "princess1234", "football1234", "baseball1234", "overhangoverhang",
	"correcthorsebatterystaple", "roofroofroof", "shingleshingle",
}

// checkPassword refuses a password that is too short, too long or easily
// guessed. The field at fault is new_password.
func checkPassword(password, email, name string) error {
	refuse := func(rule string, args ...any) error { return models.FieldErrorf("new_password", "", rule, args...) }
	length := utf8.RuneCountInString(password)
	switch {
	case !utf8.ValidString(password) || strings.ContainsRune(password, 0):
		return refuse("must be readable text")
	case length < PasswordLength:
		return refuse("must have at least %d characters: a few plain words in a row will do", PasswordLength)
	case length > longestPassword:
		return refuse("may have at most %d characters", longestPassword)
	}
	distinct := []rune(password)
	slices.Sort(distinct)
	bare := squeezed(password)
	if len(slices.Compact(distinct)) < 4 || slices.ContainsFunc(common, func(c string) bool { return squeezed(c) == bare }) {
		return refuse("is among the first that anybody tries: choose another")
	}
	// What is left when the email and the name are taken out must not be short.
	mailbox, _, _ := strings.Cut(email, "@")
	rest := bare
	for _, known := range append([]string{email, mailbox, name}, strings.Fields(name)...) {
		if part := squeezed(known); utf8.RuneCountInString(part) >= 4 {
			rest = strings.ReplaceAll(rest, part, "")
		}
	}
	if rest != bare && utf8.RuneCountInString(rest) < 6 {
		return refuse("must be more than your name or email")
	}
	return nil
}

// squeezed writes a text in lower case, letters and digits only.
func squeezed(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}

// hashPassword makes the hash that is kept. The text is brought to one form
// first, because two keyboards may write one accented letter in two ways.
func hashPassword(password string) (string, error) {
	hash, err := argon2id.CreateHash(norm.NFC.String(password), &passwordCost)
	if err != nil {
		return "", fmt.Errorf("hashing a password: %w", err)
	}
	return hash, nil
}

// passwordFits says whether the password is the hash's, and whether the hash was
// made with other parameters than those of now.
func passwordFits(password, hash string) (fits, outdated bool, err error) {
	if utf8.RuneCountInString(password) > longestPassword {
		password = "" // is no password of ours, and takes as long
	}
	fits, params, err := argon2id.CheckHash(norm.NFC.String(password), hash)
	if err != nil {
		return false, false, fmt.Errorf("checking a password: %w", err)
	}
	return fits, *params != passwordCost, nil
}
