// Follows all castings that had a factor of an answer of causes, looked at or not.
import {
  type Followed,
  followSlotOfCastings,
  followThing,
  type View,
} from '../../metal/followed.ts'
import type { Part } from '../../stats/causes/candidate.ts'
import { groupsOf } from '../../stats/causes/report.ts'
import { type DefectQuestion, type LookedAt, lookedAt } from './looked-at.ts'
import { nothingIn } from './nothing-to-explain.ts'
import type { Recorded } from './recorded.ts'
import { weigh } from './weigh.ts'
import { nameOf } from './words.ts'

/** The lots followed, if any; undefined where no factor has that name. */
export function followFactor(
  view: View,
  plant: string,
  into: Followed,
  { about, name }: { about: DefectQuestion; name: string },
): number[] | undefined {
  const looked = lookedAt(view, plant, about)
  if (nothingIn(view, looked, about)) return undefined
  const { recorded, found } = weigh(view, plant, looked)
  const member = groupsOf(found)
    .flatMap(({ members }) => members)
    .find(({ candidate }) => nameOf(recorded, candidate) === name)
  if (!member) return undefined
  const { parts } = member.candidate
  const lots = parts.flatMap((part) => lotOf(recorded, part) ?? [])
  // Of two at once only those with both count: which they are is told for neither alone.
  const perhaps = parts.length > 1
  for (const part of perhaps ? [fewest(looked, recorded, parts)] : parts) {
    const lot = lotOf(recorded, part)
    if (lot !== undefined && !perhaps) followThing(view, into, lot)
    else
      for (const unit of had(looked, recorded, part)) {
        const unsure = perhaps || unit.unknown
        for (const slot of unit.slots) followSlotOfCastings(into, slot, unit.at(view), unsure)
      }
  }
  // With no report of the step they may have had it as well.
  const steps = parts.flatMap((part) => stepOf(looked, recorded[part.factor]!.factor)?.step ?? [])
  for (const step of new Set(steps))
    for (const slot of view.castings.slotsSkipping(step))
      followSlotOfCastings(into, slot, Number.NEGATIVE_INFINITY, true)
  return perhaps ? [] : lots
}

/** The step at which a factor is told; undefined where it is told of a pour or of the whole row. */
function stepOf(
  { steps }: LookedAt,
  { of }: Recorded['factor'],
): LookedAt['steps'][number] | undefined {
  return of === 'row' ? undefined : steps[of - 1]
}

function lotOf(recorded: readonly Recorded[], part: Part): number | undefined {
  return part.is === 'dose' ? recorded[part.factor]!.things?.[0] : undefined
}

function fewest(looked: LookedAt, recorded: readonly Recorded[], parts: readonly Part[]): Part {
  const size = (part: Part) => [...had(looked, recorded, part)].length
  return [...parts].sort((a, b) => size(a) - size(b))[0]!
}

interface Had {
  slots: readonly number[]
  at(view: View): number
  /** Nobody recorded whether it had it. */
  unknown: boolean
}

/** Units of its makeup that had a part, or may have. */
function* had(looked: LookedAt, recorded: readonly Recorded[], part: Part): Iterable<Had> {
  const { factor } = recorded[part.factor]!
  if (factor.of === 'row') return
  const step = stepOf(looked, factor)
  const units: Omit<Had, 'unknown'>[] = step
    ? step.handlings.map(({ slots, from }) => ({ slots, at: () => from }))
    : looked.units.map(({ slot, pour }) => ({
        slots: [slot],
        at: (view) => view.book.firstAt(pour, view.asOf) ?? Number.NEGATIVE_INFINITY,
      }))
  for (const [i, unit] of units.entries()) {
    const held = holds(factor, part, i)
    if (held !== false) yield { ...unit, unknown: held === undefined }
  }
}

/** Undefined where nobody recorded it. */
function holds(factor: Recorded['factor'], part: Part, i: number): boolean | undefined {
  if (factor.form === 'levels') {
    const code = factor.codes[i]!
    if (part.is === 'missing') return code < 0
    return code < 0 ? undefined : part.is === 'level' && code === part.level
  }
  const value = factor.values[i]!
  if (part.is === 'missing') return Number.isNaN(value)
  if (Number.isNaN(value)) return undefined
  return part.is === 'between' ? value >= part.from && value < part.until : value > 0
}
