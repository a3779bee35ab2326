package people

// Role is what a person may do. The zero Role may do nothing.
type Role string

// The roles: a viewer looks, an operator changes things as well.
const (
	Viewer   Role = "viewer"
	Operator Role = "operator"
)

// Known says that r is a role that a person can have.
func (r Role) Known() bool { return r == Viewer || r == Operator }

// May says that a person with role r may do what needs least.
func (r Role) May(least Role) bool {
	switch least {
	case Viewer:
		return r.Known()
	case Operator:
		return r == Operator
	}
	return false
}
