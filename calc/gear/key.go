package gear

// Key is what tells the item from others in a register and in a log: its ID,
// or its name where it has none.
func (it Item) Key() string {
	if it.ID != "" {
		return it.ID
	}
	return it.Name
}
