// A report without an envelope: the data alone, and beside it who says it and when. For machines and
// people that can send JSON and no more.
import { hash } from 'node:crypto'
import { canonical } from '../events/canonical.ts'
import { EVENT_TYPES, nearestType } from '../events/catalog.ts'
import { nearestName, type Problem } from '../events/problem.ts'
import type { JsonObject } from '../events/statement.ts'

/** What may stand beside the data; `machine` is short for a source of the house's own plant. */
const BESIDE = ['source', 'machine', 'time', 'id', 'entry', 'sequence', 'timespread', 'supersedes']

export interface PlainReport {
  /** Such as melt.heat-tapped, or with its major. */
  type: string
  beside: ReadonlyMap<string, string>
  data: JsonObject
  /** Such as https://foundry.example/plant/main: what `machine` is a machine of. */
  plantAddress: string | undefined
}

/**
 * The event a plain report stands for. Without an id it gets one made of what it says, so that the
 * same report sent twice is one: two things alike at the same time need ids to be two.
 */
export function eventOfReport(report: PlainReport): { event: JsonObject } | { problem: Problem } {
  const { beside, data } = report
  const type = fullType(report.type)
  if (!type) {
    const near = nearestType(report.type) ?? nearestType(report.type + '.v1')
    return trouble(
      'type',
      `${report.type} is not known here`,
      near ? `Did you mean ${near}?` : TYPES,
    )
  }
  for (const name of beside.keys()) {
    if (BESIDE.includes(name)) continue
    const near = nearestName(name, BESIDE)
    const fix = near ? `Did you mean ${near}?` : `Give any of ${BESIDE.join(', ')}`
    return trouble(name, 'does not stand beside a report', fix)
  }
  const source = sourceOfReport(report, type)
  if (source === undefined)
    return trouble('source', 'is missing', 'Give source=https://<domain>/plant/<plant>/<station>')
  const time = beside.get('time')
  if (!time) return trouble('time', 'is missing', TIME)
  const rest = [...beside].filter(([name]) => name !== 'machine')
  const event = { ...Object.fromEntries(rest), type, source, time, data }
  try {
    const id = beside.get('id') ?? hash('sha256', canonical(event), 'hex').slice(0, 32)
    return { event: { specversion: '1.0', ...event, id } }
  } catch (error) {
    return trouble('data', `cannot be kept: ${(error as Error).message}`, 'Send plain JSON')
  }
}

const TYPES = 'See schema/event-types.md for what may be said'
const TIME =
  'Give when it ended, with the offset of the plant, such as time=2026-03-02T06:40:00-06:00'

/** The newest major, where none is named. */
function fullType(type: string): string | undefined {
  return EVENT_TYPES.findLast((known) => known.type === type || known.base === type)?.type
}

function sourceOfReport({ beside, plantAddress }: PlainReport, type: string): string | undefined {
  const source = beside.get('source')
  if (source !== undefined || plantAddress === undefined) return source
  const machine = beside.get('machine')
  const station = `${plantAddress}/${type.slice(0, type.indexOf('.'))}`
  return machine === undefined ? station : `${station}/${machine}`
}

function trouble(path: string, problem: string, fix: string): { problem: Problem } {
  return { problem: { path, problem, fix } }
}
