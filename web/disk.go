package web

// leastDisk is the room, in bytes, below which the service says that it is not
// ready: a database whose disk is full loses whatever is recorded next.
const leastDisk = 256 << 20

// diskLeft is the room where this service keeps its records, and whether that
// is too little. Without a folder of its own nothing is known.
func (s *Server) diskLeft() (free uint64, low bool) {
	if s.cfg.StateDir == "" {
		return 0, false
	}
	free, err := s.freeDisk(s.cfg.StateDir)
	if err != nil {
		s.cfg.Logger.Warn("disk", "err", err)
		return 0, false
	}
	return free, free < leastDisk
}
