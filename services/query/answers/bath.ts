// The furnace as a level over time, with the part of the bath that is asked about.
import { bathLevels } from '../../metal/bath.ts'
import { followThing, nothingFollowed } from '../../metal/followed.ts'
import type { Context } from '../context.ts'
import { completenessOf } from '../record/completeness.ts'
import { refusal } from '../refusal.ts'
import { find, findIds, notOne } from '../things/name.ts'

export interface BathArgs {
  furnace: string
  window: { from: number; to: number }
  of: string[]
  asOf?: number | null
}

const LONGEST_MS = 31 * 24 * 3600 * 1000

export async function bath(context: Context, args: BathArgs): Promise<object> {
  const { from, to } = args.window
  if (!(from < to)) throw refusal('BAD_USER_INPUT', 'window.from must lie before window.to.')
  if (to - from > LONGEST_MS)
    throw refusal('BAD_USER_INPUT', 'window is longer than 31 days: draw a shorter stretch.')
  const snapshot = await context.snapshot()
  const { view, asOf } = snapshot.at(args.asOf ?? undefined)
  const furnace = await find(context, { id: `furnace:${args.furnace}` }, asOf)
  if (furnace.found !== 'one') return notOne(context, furnace, asOf)
  const followed = nothingFollowed()
  for (const found of await findIds(context, args.of)) {
    if (found.found !== 'one') return notOne(context, found, asOf)
    followThing(view, followed, found.no)
  }
  const levels = bathLevels(view, furnace.no, followed, from, to)
  return {
    __typename: 'Bath',
    furnace: () => context.things.one(furnace.no, asOf),
    asOf,
    at: levels.map((level) => level.at),
    change: levels.map((level) => level.change),
    thing: levels.map((level) =>
      level.thing === undefined ? null : view.things.name(level.thing),
    ),
    heat: levels.map((level) => (level.heat === undefined ? null : view.things.name(level.heat))),
    kg: levels.map((level) => level.grams / 1000),
    share: levels.map((level) => level.share),
    shareLow: levels.map((level) => level.low),
    shareHigh: levels.map((level) => level.high),
    completeness: await completenessOf(context, view, asOf, {
      on: () => true,
      begins: from,
      named: [furnace.no],
    }),
  }
}
