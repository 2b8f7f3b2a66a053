// The way from lots to the piece as it is drawn: columns in the order of the work, metal left of the mold by
// mass, castings right of it by chance. Each column comes to the whole, but for what no report accounts for.
// Feeding runs are parts of the receiving box.
import { type Kind, STEPS } from '../../events/fact.ts'
import { heelOf } from '../../metal/bath.ts'
import type { View } from '../../metal/followed.ts'
import type { Origins } from '../../metal/origins.ts'
import { heatsOfPour, ladleOfPour } from '../../metal/poured-from.ts'
import type { Context } from '../context.ts'
import { plain } from '../estimate.ts'
import { enumWord } from '../things/amounts.ts'

interface Box {
  no: number
  part: number
}

interface Column {
  kind: Kind
  /** Of loads. */
  step?: string
  boxes: Box[]
}

interface Run {
  from: number
  to: number
  part: number
  heel: boolean
}

export function pathOf(context: Context, view: View, no: number, known: Origins, most: number) {
  const metal = metalBoxes(view, known)
  const all: Column[] = [
    { kind: 'lot', boxes: known.lots.map(({ lot, share }) => ({ no: lot, part: share })) },
    ...LEFT.filter((kind) => kind !== 'lot').map((kind) => ({ kind, boxes: metal.get(kind)! })),
    { kind: 'pour', boxes: known.pours.map(({ pour, chance }) => ({ no: pour, part: chance })) },
    ...loadColumns(view, known),
  ]
  const kind = view.things.kind(no)
  if (!all.some(({ boxes }) => boxes.some((box) => box.no === no)))
    all.push({ kind, boxes: [{ no, part: 1 }] })
  const shown = new Set<number>()
  const columns = all
    .filter(({ boxes }) => boxes.length > 0)
    .map(({ kind: column, step, boxes }) => {
      const sorted = boxes.sort((a, b) => b.part - a.part || a.no - b.no)
      const drawn = sorted.slice(0, most)
      for (const box of drawn) shown.add(box.no)
      return {
        kind: column.toUpperCase(),
        step: step === undefined ? null : enumWord(step),
        metal: LEFT.includes(column),
        boxes: () => boxesOf(context, view, drawn),
        others: sorted.length - drawn.length,
        othersTogether: sorted.slice(most).reduce((sum, box) => sum + box.part, 0),
      }
    })
  return {
    columns,
    runs: () =>
      runsBetween(view, shown).map(({ from, to, part, heel }) => ({
        from: view.things.name(from),
        to: view.things.name(to),
        part,
        heel,
      })),
  }
}

const LEFT: readonly Kind[] = ['lot', 'charge', 'heat', 'ladle']

async function boxesOf(context: Context, view: View, boxes: readonly Box[]) {
  const things = await context.things.many(
    boxes.map((box) => box.no),
    view.asOf,
  )
  return boxes.map((box, i) => ({ thing: things[i], part: plain(Math.min(1, box.part)) }))
}

/** What last passed each charge, heat and ladle filling, as part of the metal of the thing asked about. */
function metalBoxes(view: View, known: Origins): Map<Kind, Box[]> {
  const { melt, things } = view
  const boxes = new Map<Kind, Box[]>([
    ['charge', []],
    ['heat', []],
    ['ladle', []],
  ])
  for (const [no, slot] of melt.slots()) {
    if (things.kind(no) !== 'charge') continue
    const part = known.throughLast[slot] ?? 0
    if (part > 0) boxes.get('charge')!.push({ no, part })
  }
  const heats = new Map<number, number>()
  const ladles = new Map<number, number>()
  for (const { pour, chance } of known.pours) {
    const ladle = ladleOfPour(view, pour)
    if (ladle === undefined || things.kind(ladle) !== 'ladle') continue
    ladles.set(ladle, (ladles.get(ladle) ?? 0) + chance)
    for (const { heat, grams, all } of heatsOfPour(view, pour))
      heats.set(heat, (heats.get(heat) ?? 0) + (chance * grams) / all)
  }
  for (const [no, part] of heats) boxes.get('heat')!.push({ no, part })
  for (const [no, part] of ladles) boxes.get('ladle')!.push({ no, part })
  return boxes
}

/** Chance that a casting went through a load, a column for each step; of passes the likeliest counts. */
function loadColumns(view: View, known: Origins): Column[] {
  const steps = new Map<string, Map<number, number>>()
  for (const handling of view.castings.handlings()) {
    const chance = handling.slots.reduce((sum, slot) => sum + (known.throughCastings[slot] ?? 0), 0)
    if (chance <= 0) continue
    const loads = steps.get(handling.step) ?? new Map<number, number>()
    loads.set(handling.load, Math.max(loads.get(handling.load) ?? 0, chance))
    steps.set(handling.step, loads)
  }
  return STEPS.filter((step) => steps.has(step)).map((step) => ({
    ...{ kind: 'load' as const, step },
    boxes: [...steps.get(step)!].map(([no, part]) => ({ no, part })),
  }))
}

/** Which box feeds which, as part of the receiving one; only between boxes that are drawn. */
function runsBetween(view: View, shown: ReadonlySet<number>): Run[] {
  const { book, things, asOf } = view
  const runs: Run[] = []
  const feed = (to: number, from: { no: number; amount: number; heel?: boolean }[]) => {
    const total = from.reduce((sum, { amount }) => sum + amount, 0)
    const parts = Map.groupBy(from, ({ no }) => no)
    for (const [no, list] of parts) {
      const amount = list.reduce((sum, one) => sum + one.amount, 0)
      if (shown.has(no) && amount > 0) {
        runs.push({
          from: no,
          to,
          part: amount / total,
          heel: list.some((one) => one.heel === true),
        })
      }
    }
  }
  for (const no of shown) {
    switch (things.kind(no)) {
      case 'charge':
        feed(
          no,
          book
            .of(no, 'charge-line', asOf)
            .map(({ fact }) => ({ no: fact.other, amount: fact.amount })),
        )
        break
      case 'heat':
        feed(no, heatFeeds(view, no))
        break
      case 'ladle':
        feed(no, [
          ...book
            .of(no, 'ladle-tapped', asOf)
            .map(({ fact }) => ({ no: fact.other, amount: fact.amount })),
          ...book
            .of(no, 'ladle-added', asOf)
            .map(({ fact }) => ({ no: fact.other, amount: fact.amount ?? 0 })),
        ])
        break
      case 'pour': {
        const ladle = book.of(no, 'poured', asOf)[0]?.fact.other
        if (ladle !== undefined) feed(no, [{ no: ladle, amount: 1 }])
        break
      }
      default:
        feed(
          no,
          view.castings.sourcesOf(no).map(({ of, castings }) => ({ no: of, amount: castings })),
        )
    }
  }
  return runs
}

/** Charges, additions and the heel of a heat; the heel feeds it from the heat before. */
function heatFeeds(view: View, heat: number): { no: number; amount: number; heel?: boolean }[] {
  const { book, asOf } = view
  const feeds: { no: number; amount: number; heel?: boolean }[] = []
  for (const { fact } of book.of(heat, 'heat-charged', asOf)) {
    const lines = book.of(fact.other, 'charge-line', asOf)
    const weighed = lines.reduce((sum, line) => sum + line.fact.amount, 0)
    feeds.push({ no: fact.other, amount: fact.amount ?? weighed })
  }
  for (const { fact } of book.of(heat, 'heat-added', asOf))
    feeds.push({ no: fact.other, amount: fact.amount ?? 0 })
  const heel = heelOf(view, heat)
  if (heel && heel.grams > 0) feeds.push({ no: heel.before, amount: heel.grams, heel: true })
  return feeds
}
