<?php
// Prints what sabre/vobject finds wrong with a calendar, and how many events
// it reads.
require 'Sabre/VObject/includes.php';

$calendar = Sabre\VObject\Reader::read(file_get_contents('php://stdin'));
$found = 0;
foreach ($calendar->validate() as $finding) {
    fwrite(STDERR, "{$finding['level']}: {$finding['message']} ({$finding['node']->name})\n");
    $found++;
}
if ($found) {
    exit(1);
}
echo count($calendar->select('VEVENT')), "\n";
