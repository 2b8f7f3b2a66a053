// What must hold when a simulated shift is over:
//   J1 what was acknowledged is in the log and in the record
//   J2 what was refused is in neither, nor is what nobody has said
//   J3 a place of the log holds one content, for every reader at any time
//   J4 what is in the record of a partition is exactly what lies before its position: no hole, no double
//   J5 positions never go back (the database watches over that itself)
//   J6 sums are those of the reports
//   J7 the record that grew is the record made at once from the log
//   J9 what one source said stays in its order
//   J10 what nobody knows the fate of is there once or never
// J8, that forward and backward tell the same, is a law of the arithmetic: test/metal.
import type { Claim } from '../../services/events/claim.ts'
import type { Station } from '../../services/events/fact.ts'
import { holds } from '../../services/events/span.ts'
import { Timeline } from '../../services/events/timeline.ts'
import { readRecord } from '../../services/genealogy/reading.ts'
import type { LogRecord } from '../../services/log/log.ts'
import type { Said } from '../../services/store/kept-record.ts'
import type { Row } from './database.ts'
import type { House, ReaderMachine } from './machines.ts'
import { reportOfNumber } from './reports.ts'

/** What stations know of their reports. */
export interface Told {
  /** Source and id. */
  acknowledged: Set<string>
  refused: Set<string>
  /** Source and id of all that any door was given. */
  said: Set<string>
  /** What came past the doors, as it is. */
  smuggled: Set<string>
}

export function checkAll(
  { notes, database }: House,
  told: Told,
  log: readonly LogRecord[],
  spool: readonly LogRecord[],
): void {
  const fail = (sentence: string) => void notes.violations.push(sentence)
  const made = recordFrom(log)
  const held = {
    statement: database.held.rows.get('statement') ?? new Map<string, Row>(),
    fact: database.held.rows.get('fact') ?? new Map<string, Row>(),
    set_aside: database.held.rows.get('set_aside') ?? new Map<string, Row>(),
  }
  const kept = new Set([...held.statement.values()].map(({ source, id }) => `${source} ${id}`))
  const logged = new Set(made.said.map(({ statement }) => `${statement.source} ${statement.id}`))
  for (const each of told.acknowledged)
    if (!logged.has(each) || !kept.has(each)) fail(`J1: ${each} was acknowledged and is not there`)
  for (const { statement } of made.said)
    if (told.refused.has(statement.id)) fail(`J2: ${statement.id} was refused and is there`)
  for (const { topic, partition, offset, value } of log) {
    const place = `${topic}/${partition}/${offset}`
    const content = Buffer.from(value).toString('latin1')
    if (notes.seen.get(place) !== content) fail(`J3: ${place} was read as something else`)
    if (!told.smuggled.has(content) && !told.said.has(nameIn(content)))
      fail(`J2: ${place} holds what nobody said`)
  }
  for (const [place, { next }] of database.held.positions)
    for (let offset = 0n; offset < next; offset++) {
      const ways = [held.statement, held.set_aside].filter((rows) => rows.has(`${place}/${offset}`))
      if (ways.length !== 1) fail(`J4: ${place}/${offset} is in the record ${ways.length} times`)
    }
  if (held.statement.size + held.set_aside.size !== log.length)
    fail(`J4: ${held.statement.size + held.set_aside.size} rows of ${log.length} records`)
  if (sum([...held.fact.values()]) !== sum(made.facts)) fail('J6: the sums differ')
  if (same(held.statement, ['source', 'id', 'hash']) !== made.statements)
    fail('J7: statements differ')
  if (same(held.set_aside, ['class']) !== made.aside) fail('J7: what was set aside differs')
  checkOrder(log, spool, fail)
  checkInForce(made.said, fail)
}

function nameIn(content: string): string {
  try {
    const { source, id } = JSON.parse(content)
    return `${source} ${id}`
  } catch {
    return ''
  }
}

/** The record made at once from the log, and what of it no database holds set aside. */
function recordFrom(log: readonly LogRecord[]) {
  const said: Said[] = []
  const facts: Row[] = []
  const lines: string[] = []
  const aside: string[] = []
  for (const record of log) {
    const { outcome } = readRecord(record, record.topic as Station, 0)
    const place = `${record.topic}/${record.partition}/${record.offset}`
    if (!('statement' in outcome)) aside.push(`${place} ${outcome.class}`)
    else if (JSON.stringify(outcome.statement).includes('\\u0000')) aside.push(`${place} DOMAIN`)
    else {
      const { source, id, hash } = outcome.statement
      said.push(outcome)
      facts.push(...outcome.facts.map((fact) => ({ ...fact })))
      lines.push(`${place} ${source} ${id} ${hash}`)
    }
  }
  return { said, facts, statements: lines.sort().join('\n'), aside: aside.sort().join('\n') }
}

function same(rows: ReadonlyMap<string, Row>, columns: readonly string[]): string {
  const lines = [...rows].map(
    ([key, row]) => `${key} ${columns.map((each) => row[each]).join(' ')}`,
  )
  return lines.sort().join('\n')
}

/** How many there are, and how much in all. */
function sum(facts: readonly Row[]): string {
  const amounts = facts.map(({ amount }) => Number(amount ?? 0))
  const total = amounts.sort((a, b) => a - b).reduce((all, each) => all + each, 0)
  return `${facts.length} ${total}`
}

/** In the log behind a spool everything first appears in the order in which the spool has it. */
function checkOrder(
  log: readonly LogRecord[],
  spool: readonly LogRecord[],
  fail: (sentence: string) => void,
): void {
  const firsts = (records: readonly LogRecord[]) => {
    const values = Map.groupBy(records, ({ key }) => key)
    return new Map(
      [...values].map(([key, own]) => {
        return [key, [...new Set(own.map(({ value }) => Buffer.from(value).toString('latin1')))]]
      }),
    )
  }
  const arrived = firsts(log)
  for (const [key, sent] of firsts(spool)) {
    const own = new Set(sent)
    const came = (arrived.get(key) ?? []).filter((value) => own.has(value))
    if (came.join('\n') !== sent.join('\n')) fail(`J9: what ${key} said is in another order`)
  }
}

function checkInForce(said: readonly Said[], fail: (sentence: string) => void): void {
  const timeline = new Timeline<Claim>()
  const force = new Map<string, Claim>()
  for (const { claim, after } of timeline.add(said.map(({ claim }) => ({ ...claim })))) {
    const key = `${claim.source} ${claim.id}`
    if (!holds(after)) {
      if (force.get(key) === claim) force.delete(key)
    } else if (force.has(key) && force.get(key) !== claim) fail(`J10: ${key} is in force twice`)
    else force.set(key, claim)
  }
}

const ALARM_MS = 60_000

/**
 * The log is put back to an earlier state and goes on with other records. Where the database has read
 * further than that, the partition must stand still by name; nothing of the rest may be taken in.
 */
export async function checkLogRestored(
  { world, brokers, database, notes }: House,
  readers: readonly ReaderMachine[],
): Promise<void> {
  for (const reader of readers) reader.life.kill()
  notes.alarms.clear()
  notes.seen.clear()
  const before = new Map(database.held.positions)
  const must = new Set<string>()
  for (const each of brokers.partitions) {
    const name = `${each.topic}/${each.partition}`
    const length = world.whole(0, each.records.length)
    if (length < each.records.length) must.add(name)
    each.records = each.records.slice(0, length)
    each.add(Array.from({ length: world.whole(0, 5) }, (_, i) => reportOfNumber(i)))
  }
  for (const reader of readers) reader.start()
  const settled = () =>
    brokers.partitions.every(({ topic, partition, next }) => {
      const name = `${topic}/${partition}`
      return (
        notes.alarms.has(name) || database.held.positions.get(name)?.next === next || next === 0n
      )
    })
  await world.run(world.now + ALARM_MS, settled)
  // And nothing happens behind the alarms.
  await world.run(world.now + ALARM_MS, () => false)
  for (const name of must) {
    if (!notes.alarms.has(name)) notes.violations.push(`the log of ${name} is another: no alarm`)
    if (database.held.positions.get(name)?.next !== before.get(name)?.next)
      notes.violations.push(`the log of ${name} is another, and more of it was taken in`)
  }
  for (const name of notes.alarms.keys())
    if (!must.has(name)) notes.violations.push(`a false alarm of ${name}`)
}
