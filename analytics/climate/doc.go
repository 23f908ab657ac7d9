// Package climate tells what the weather of a place does to a roof: where the
// sun stands, what falls on a slope, and a typical year hour by hour.
package climate
