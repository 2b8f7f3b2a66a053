// What an event type is: its fields, what cannot be so, what is unusual, what it is about, and what
// facts it comes to. Each type is declared once, in the file of its station.

import { recordCheck } from './check.ts'
import type { Found } from './check-quantity.ts'
import type { Fact, FactOf, Ms, Name, Station } from './fact.ts'
import { STATIONS } from './fact.ts'
import type { Fields, Values } from './field.ts'
import type { Problem } from './problem.ts'
import type { JsonObject } from './statement.ts'

/** What the envelope says that facts need. */
export interface Context {
  plant: string
  /** When it ended. Unit: ms. */
  at: Ms
  /** How far local time, as the station said it, is ahead of universal time. Only facts need it. */
  offsetMinutes?: number
  station: Station
  /** The machine that the source ends in. */
  machine?: string
  sequence?: number
}

interface Declared<D> {
  /** Such as melt.heat-tapped.v1; the first part is the station that may say it. */
  type: string
  /** One sentence. */
  means: string
  /** `kind:id` of the main thing; undefined where there is none. */
  subject(data: D): Name | undefined
  /** Of statements with the same slot at most one is in force; undefined or absent: all count. */
  slot?(data: D, context: Context): string | undefined
  /** In words, which statements share a slot; for the reference page. */
  slotMeans?: string
  /** When it was done: rivals in the slot are only those whose times overlap. */
  span?(data: D): { from: Ms; until: Ms }
  /** What this one event proves wrong beyond its single fields. */
  impossible?(data: D, context: Context): Problem[]
  /** Sentences on what is out of the ordinary, beyond the usual ranges of single fields. */
  unusual?(data: D, context: Context): string[]
  facts(data: D, context: Context): Fact[]
  /** The report in the trade's words, without a full stop. */
  says(data: D): string
}

export interface EventType extends Declared<unknown> {
  station: Station
  /** Without its major: statements of any major of it join. */
  base: string
  fields: Fields
  /** Data in SI units; what is wrong and unusual is put into `found`. */
  check(entered: JsonObject, context: Context, found: Found): unknown
}

/** Declares an event type: compiles its checks and types its functions by its fields. */
export function declare<const F extends Fields>(
  declared: Declared<Values<F>> & { fields: F },
): EventType {
  const station = STATIONS.find((name) => declared.type.startsWith(name + '.'))
  const base = /^([a-z]+\.[a-z-]+)\.v[1-9][0-9]*$/.exec(declared.type)?.[1]
  if (!station || !base) throw new Error(`${declared.type} is not <station>.<fact>.v<major>`)
  const record = recordCheck(declared.fields)
  return {
    ...(declared as Declared<unknown>),
    station,
    base,
    fields: declared.fields,
    check(entered, context, found) {
      const before = found.problems.length
      const data = record(entered, '', found) as Values<F>
      if (found.problems.length === before) {
        if (declared.impossible) found.problems.push(...declared.impossible(data, context))
        if (declared.unusual) found.flags.push(...declared.unusual(data, context))
      }
      return data
    },
  }
}

type Parts<W extends Fact['what']> = Loose<Omit<FactOf<W>, 'what'>>
type Loose<T> = { [K in keyof T]: object extends Pick<T, K> ? T[K] | undefined : T[K] }

/** A fact from its parts; what was not said is left out. */
export function fact<W extends Fact['what']>(what: W, parts: Parts<W>): FactOf<W> {
  const made: Record<string, unknown> = { what }
  for (const [name, part] of Object.entries(parts)) if (part !== undefined) made[name] = part
  return made as FactOf<W>
}

/** Identity of a slot: its parts in order, told apart whatever they contain. */
export function slotOf(...parts: (string | number)[]): string {
  return parts.map((part) => encodeURIComponent(part)).join(' ')
}
