// Sentences of the house as a page shows them: moments by the reader's clock, things by their names.
import { dayWords, momentWords } from './moment.ts'
import { thingWords } from './standing.ts'

const MOMENT = /\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d(?:\.\d+)?)?(?:Z|[+-]\d\d:\d\d)/g
const DAY = /\b\d{4}-\d\d-\d\d\b(?!T)/g
const THING =
  /\b(?:lot|bin|charge|furnace|heat|ladle|sand|molds|pour|load|tote|pack|pan|shipment|recipe):[\w./-]*\w/g

/** "more of lot:SB-3400 from 2026-04-11T16:00:00Z" as "more of lot SB-3400 from Saturday 11 April 10:00". */
export function plain(sentence: string): string {
  return sentence
    .replace(MOMENT, (moment) => momentWords(moment))
    .replace(DAY, (day) => dayWords(`${day}T12:00`))
    .replace(THING, (id) => thingWords(id))
}
