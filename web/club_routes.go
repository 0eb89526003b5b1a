package web

import "net/http"

type (
	handler       = func(http.ResponseWriter, *http.Request) error
	memberHandler = func(http.ResponseWriter, *http.Request, *visitor) error
)

// clubRoutes lists the addresses at which a club is looked after: what an
// organiser or a keeper does at a table, not at a hive.
func (s *Server) clubRoutes(page func(string, handler), member func(string, memberHandler)) {
	organiser := func(pattern string, h memberHandler) { page(pattern, s.organiser(h)) }

	page("GET /setup/{token}", s.limited(s.limits.setUps, s.askSetup))
	page("POST /setup/{token}", s.limited(s.limits.setUps, s.setUp))

	member("GET /apiary/{id}/hives", s.askHives)
	member("POST /apiary/{id}/hives", s.addHives)
	member("GET /apiary/{id}/marks", s.askMarks(s.marksOf))
	member("POST /apiary/{id}/marks", s.saveMarks(s.marksOf))
	organiser("GET /boxes/marks", s.askMarks(s.spareMarks))
	organiser("POST /boxes/marks", s.saveMarks(s.spareMarks))
	member("GET /apiary/{id}/season", s.season)
	member("POST /apiary/{id}/season", s.changeSeason)

	member("GET /rules", s.rules)
	organiser("GET /rules/limit", s.rulesLimit)
	organiser("POST /rules", s.saveRules)
	organiser("POST /rules/season", s.drawSeason)
	organiser("POST /rules/preview", s.previewRules)
	organiser("POST /rules/upload", s.limitedMember(s.limits.uploads, s.uploadRules))
	member("GET /rules/file", s.rulesFile)
	member("GET /rules/history", s.rulesHistory)

	member("GET /members", s.members)
	organiser("POST /members/invite", s.inviteMember)
	organiser("POST /members/invited/{person}/{deed}", s.changeInvited)
	organiser("GET /members/{id}", s.member)
	organiser("POST /members/{id}/{deed}", s.changeMember)
	organiser("GET /members/{id}/address", s.memberAddress)
	organiser("POST /members/{id}/address", s.memberAddress)

	member("GET /links", s.links)
	member("POST /links", s.createLink)
	member("POST /links/{id}/{deed}", s.changeLink)

	member("GET /fit", s.fit)
	member("GET /messages", s.messages)
	member("POST /messages/clear", s.clearRefused)

	organiser("GET /records", s.records)
	organiser("GET /records/file", s.exportRecords)
	organiser("GET /records/photos", s.exportPhotos)
	organiser("POST /records", s.limitedMember(s.limits.uploads, s.importRecords))
	organiser("GET /bring-in", s.bringIn)
	organiser("POST /bring-in", s.limitedMember(s.limits.uploads, s.takeSheet))
	organiser("GET /bring-in/{id}", s.goOn)
	organiser("GET /bring-in/{id}/refused.csv", s.refusedRows)
	organiser("GET /bring-in/{id}/{step}", s.bringInStep)
	organiser("POST /bring-in/{id}/{step}", s.answerStep)
	organiser("GET /audit", s.audit)
}
