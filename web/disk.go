package web

import (
	"fmt"
	"syscall"
)

// leastDisk is the room, in bytes, below which the service says that it is not
// ready: a database whose disk is full loses whatever is recorded next.
const leastDisk = 256 << 20

// freeDisk is the room for the service's own account on the disk of a folder,
// in bytes.
func freeDisk(folder string) (uint64, error) {
	var stat syscall.Statfs_t
	if err := syscall.Statfs(folder, &stat); err != nil {
		return 0, fmt.Errorf("ask how full the disk of %s is: %w", folder, err)
	}
	return stat.Bavail * uint64(stat.Bsize), nil
}

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
