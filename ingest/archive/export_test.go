package archive

import "time"

// SetPatience sets how long the server may take for an answer.
func (s *Server) SetPatience(d time.Duration) { s.patience = d }
