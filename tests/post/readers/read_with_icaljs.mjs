// Reads a feed from standard input with ical.js and prints what a calendar would show, as JSON.
import { readFileSync } from "node:fs";
import ICAL from "ical.js";

const calendar = new ICAL.Component(ICAL.parse(readFileSync(0, "utf8")));
const events = calendar.getAllSubcomponents("vevent").map((component) => {
  const event = new ICAL.Event(component);
  return {
    uid: event.uid,
    sequence: event.sequence,
    first: event.startDate.toString(),
    end: event.endDate.toString(),
    whole_day: event.startDate.isDate,
    summary: event.summary,
    description: event.description,
    status: component.getFirstPropertyValue("status"),
    stamp: component.getFirstPropertyValue("dtstamp").toJSDate().toISOString(),
  };
});
process.stdout.write(JSON.stringify({ name: calendar.getFirstPropertyValue("x-wr-calname"), events }));
