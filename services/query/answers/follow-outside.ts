// Follows what was measured outside its limits. Of what touches or handles castings, those are followed
// that were there then; of metal the bath itself.
import { ranOn } from '../../metal/castings/through.ts'
import type { HandlingView } from '../../metal/castings.ts'
import {
  type Followed,
  followSlotOfCastings,
  followThing,
  type View,
} from '../../metal/followed.ts'
import { isOutside, type Limits, limitsFor, type Measured } from '../../metal/limits.ts'

/** The GraphQL input MeasureOutside. */
export interface MeasureOutside {
  of: {
    quantity: string
    window: { from: number; to: number }
    on?: string | null
    machine?: string | null
  }
  lowest?: number | null
  highest?: number | null
}

/** The things that had such a value, or may have. */
export function followOutside(
  view: View,
  plant: string,
  into: Followed,
  { of, lowest, highest }: MeasureOutside,
): number[] {
  const things = new Set<number>()
  const steps = new Set<string>()
  const given =
    lowest == null && highest == null
      ? undefined
      : { ...(lowest != null && { low: lowest }), ...(highest != null && { high: highest }) }
  for (const { fact } of view.book.all('measured', view.asOf)) {
    if (fact.quantity !== of.quantity || fact.at < of.window.from || fact.at >= of.window.to)
      continue
    if (view.things.plant(fact.of) !== plant) continue
    const kind = view.things.kind(fact.of)
    if (of.on != null && kind !== of.on.toLowerCase()) continue
    if (of.machine != null && !isOn(view, fact, of.machine)) continue
    for (const { step } of handledThen(view, fact)) steps.add(step)
    const limits = given ?? limitsFor(view, fact)
    const outside = limits && isOutside(fact, limits as Limits)
    if (outside === false || limits === undefined) continue
    follow(view, into, fact, outside === undefined)
    things.add(fact.of)
  }
  // With no report of a step where it is measured, nobody knows what it was.
  if (things.size > 0)
    for (const step of steps)
      for (const slot of view.castings.slotsSkipping(step, of.window.from, of.window.to))
        followSlotOfCastings(into, slot, of.window.from, true)
  return [...things]
}

function follow(view: View, into: Followed, measured: Measured, perhaps: boolean): void {
  const { of, at } = measured
  const castings = castingsOf(view, measured, perhaps)
  // Of metal that may have been outside all is followed: nothing of it may be called clear.
  if (castings.length === 0) followThing(view, into, of)
  for (const slot of castings) followSlotOfCastings(into, slot, at, perhaps)
}

/**
 * Slots of the castings that were there when the value was taken: a load is handled many times, and what was
 * wrong with a pour ends where its castings are melted again. None: it is of metal, or of all that a thing held.
 */
function castingsOf(view: View, measured: Measured, perhaps: boolean): number[] {
  const { castings, things } = view
  const { of } = measured
  if (things.kind(of) === 'pour') return castings.unitsOf(of).map(({ slot }) => slot)
  const then = handledThen(view, measured)
  if (then.length > 0) return then.flatMap(({ slots }) => slots)
  return perhaps ? castings.slotsOf(of).map(({ slot }) => slot) : []
}

/** The steps a load was at when a value was taken of it. */
function handledThen({ castings, things }: View, { of, at }: Measured): HandlingView[] {
  if (things.kind(of) !== 'load') return []
  return castings.handlingsOf(of).filter((one) => one.from <= at && at <= one.at)
}

/** Whether a value was taken on a machine, furnace or line. */
function isOn(view: View, measured: Measured, machine: string): boolean {
  const { book, things, asOf } = view
  const { of } = measured
  switch (things.kind(of)) {
    case 'load':
      return handledThen(view, measured).some((one) => ranOn(one, machine))
    case 'heat':
      return book
        .of(of, 'heat-begun', asOf)
        .some(({ fact }) => things.name(fact.via) === `furnace:${machine}`)
    case 'ladle':
      return book
        .of(of, 'ladle-tapped', asOf)
        .some(({ fact }) => things.name(fact.via) === `furnace:${machine}`)
    case 'pour':
      return book
        .of(of, 'poured', asOf)
        .some(({ fact }) => things.name(fact.via) === `line:${machine}`)
    case 'molds':
      return book
        .of(of, 'molds-made', asOf)
        .some(({ fact }) => things.name(fact.via) === `line:${machine}`)
    default:
      return things.name(of).replace(/^[a-z]+:/, '') === machine
  }
}
