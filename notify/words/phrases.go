package words

func one(s string) text           { return text{one: s} }
func many(one, other string) text { return text{one, other} }

// phrases are all texts. Arguments stand in the same number and kinds in both
// languages; a language that needs another order writes %[2]s.
var phrases = map[string]phrase{
	// Days and lists.
	"and":               {one("and"), one("und")},
	"day":               {one("%s %d %s %s"), one("%s, %d. %s %s")},
	"day.short":         {one("%s %d %s"), one("%s, %d. %s")},
	"weekday.Monday":    {one("Monday"), one("Montag")},
	"weekday.Tuesday":   {one("Tuesday"), one("Dienstag")},
	"weekday.Wednesday": {one("Wednesday"), one("Mittwoch")},
	"weekday.Thursday":  {one("Thursday"), one("Donnerstag")},
	"weekday.Friday":    {one("Friday"), one("Freitag")},
	"weekday.Saturday":  {one("Saturday"), one("Samstag")},
	"weekday.Sunday":    {one("Sunday"), one("Sonntag")},
	"month.January":     {one("January"), one("Januar")},
	"month.February":    {one("February"), one("Februar")},
	"month.March":       {one("March"), one("März")},
	"month.April":       {one("April"), one("April")},
	"month.May":         {one("May"), one("Mai")},
	"month.June":        {one("June"), one("Juni")},
	"month.July":        {one("July"), one("Juli")},
	"month.August":      {one("August"), one("August")},
	"month.September":   {one("September"), one("September")},
	"month.October":     {one("October"), one("Oktober")},
	"month.November":    {one("November"), one("November")},
	"month.December":    {one("December"), one("Dezember")},

	// Chances and reasons.
	"chance.few":          {one("less than a 1 in 50 chance"), one("weniger als 1 zu 50")},
	"chance.in":           {one("a 1 in %d chance"), one("eine Chance von 1 zu %d")},
	"chance.of":           {one("a %d in %d chance"), one("eine Chance von %d zu %d")},
	"chance.sure":         {one("all but certain"), one("so gut wie sicher")},
	"reason.odds":         {one("its seal is getting hard to break"), one("die Verkittung wird langsam zu fest")},
	"reason.longest-wait": {one("it has waited as long as the club allows"), one("die längste Wartezeit des Vereins ist um")},
	"reason.required":     {one("every box is opened once at this time of year"), one("in dieser Jahreszeit wird jede Zarge einmal geöffnet")},
	"reason.above":        {one("it stands on a box that is due"), one("sie steht auf einer fälligen Zarge")},

	// A visit in a line.
	"visit.open":       {many("%[2]s: open %[1]d box", "%[2]s: open %[1]d boxes"), many("%[2]s: %[1]d Zarge öffnen", "%[2]s: %[1]d Zargen öffnen")},
	"visit.look":       {one("%s: look the hives over from outside"), one("%s: Völker von außen durchsehen")},
	"visit.tentative":  {one("%s (not fixed yet)"), one("%s (noch nicht fest)")},
	"visit.cancelled":  {one("Cancelled: %s"), one("Abgesagt: %s")},
	"visit.done":       {one("Done: %s"), one("Erledigt: %s")},
	"visit.missed":     {one("Missed: %s"), one("Versäumt: %s")},
	"visit.replaced":   {one("This calendar address was replaced"), one("Diese Kalenderadresse wurde ersetzt")},
	"visit.replaced.d": {one("Nothing more will come here. Subscribe to the new address from your calendar page."), one("Hier kommt nichts mehr. Die neue Adresse steht auf der Seite „Kalenderadressen“.")},

	// The text of a calendar entry.
	"who.nobody":       {one("Nobody has said yet that they are going."), one("Noch hat niemand zugesagt.")},
	"who.going":        {one("Going: %s."), one("Es fahren: %s.")},
	"entry.hive":       {one("Hive %s, from the top:"), one("Volk %s, von oben:")},
	"entry.box":        {one("%s - %s"), one("%s – %s")},
	"entry.box.odds":   {one("%s - %s; %s that it is hard to open"), one("%s – %s; %s, dass sie schwer aufgeht")},
	"entry.more":       {many("and %d more box on the page below", "and %d more boxes on the page below"), many("und %d weitere Zarge auf der Seite unten", "und %d weitere Zargen auf der Seite unten")},
	"entry.bring":      {one("Bring: %s."), one("Mitbringen: %s.")},
	"entry.care":       {one("Take care: %s"), one("Vorsicht: %s")},
	"entry.page":       {one("The checklist and the form: %s"), one("Checkliste und Formular: %s")},
	"entry.cancelled":  {one("This visit does not take place. The entry goes away by itself."), one("Dieser Besuch fällt aus. Der Eintrag verschwindet von selbst.")},
	"category.visit":   {one("Beekeeping"), one("Imkerei")},
	"category.opening": {one("Opening boxes"), one("Zargen öffnen")},
	"bring.always":     {one("hive tool, smoker, veil and gloves, scraper and a lidded tub, spare frames"), one("Stockmeißel, Smoker, Schleier und Handschuhe, Kratzer und Eimer mit Deckel, Ersatzrähmchen")},
}
