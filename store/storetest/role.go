package storetest

import (
	"net/url"

	"pryday/store/localpg"
)

// Serving gives the address of a database for the login that serves.
func Serving(of string) string { return as(of, localpg.AppRole) }

// Owner gives the address of a database for the owner of its tables.
func Owner(of string) string { return as(of, localpg.OwnerRole) }

func as(of, role string) string {
	u, err := url.Parse(of)
	if err != nil {
		panic(err) // made here
	}
	q := u.Query()
	q.Set("user", role)
	u.RawQuery = q.Encode()
	return u.String()
}
