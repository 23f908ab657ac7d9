package models

import (
	"errors"
	"fmt"
	"strings"
)

// Code says what kind of failure an Error is, so that each edge (page, command
// line, file report) can answer in its own way.
type Code string

// The kinds of failure that a person may be told about. Any other error is
// internal: its text goes to the log and never to a visitor.
const (
	Invalid   Code = "invalid"   // what was given breaks a rule
	NotFound  Code = "not_found" // there is no such record
	Conflict  Code = "conflict"  // somebody else changed it first, or it exists already
	Forbidden Code = "forbidden" // signed in, but not allowed
	NoSession Code = "no_session"
	TooMany   Code = "too_many" // too many tries; wait
	TooLarge  Code = "too_large"
)

// FieldError says which field broke which rule, and what was given.
type FieldError struct {
	Field string `json:"field"` // the column's name, such as laid_on
	Value string `json:"value"`
	Rule  string `json:"rule"` // a sentence for the person who typed it
}

// Error is a failure that may be shown. Message is a plain sentence; Fields are
// set when single fields are at fault.
type Error struct {
	Code    Code
	Message string
	Fields  []FieldError
}

// Error gives the message, and the fields at fault.
func (e *Error) Error() string {
	if len(e.Fields) == 0 {
		return e.Message
	}
	parts := make([]string, len(e.Fields))
	for i, f := range e.Fields {
		parts[i] = f.Field + " " + quoted(f.Value) + ": " + f.Rule
	}
	return e.Message + " (" + strings.Join(parts, "; ") + ")"
}

func quoted(s string) string {
	if s == "" {
		return "(empty)"
	}
	return fmt.Sprintf("%q", s)
}

// Errorf makes an Error with no field at fault.
func Errorf(code Code, format string, args ...any) *Error {
	return &Error{Code: code, Message: fmt.Sprintf(format, args...)}
}

// FieldErrorf makes an Invalid error about one field.
func FieldErrorf(field, value, format string, args ...any) *Error {
	rule := fmt.Sprintf(format, args...)
	return &Error{Code: Invalid, Message: "Something needs another look.",
		Fields: []FieldError{{Field: field, Value: value, Rule: rule}}}
}

// CodeOf gives the code of the Error inside err, or "" when there is none and
// err is internal.
func CodeOf(err error) Code {
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return ""
}
