// Castings shipped, and which of them customers complained of. A mark that cannot be read in full, or that
// several packs bear, counts for each pack it fits by how much of it was shipped.
import type { FactOf, Ms } from '../../events/fact.ts'
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import { type LookedAt, madeOf, type Row } from '../causes/looked-at.ts'
import type { Moment } from '../record/record-in-hand.ts'
import { fitsMark } from '../things/marks.ts'

/** The GraphQL input ComplaintsOf. */
export interface ComplaintsOf {
  defects?: string[] | null
  product?: string | null
  window: { from: number; to: number }
}

/** The GraphQL object Heard. */
export interface Heard {
  complained: number
  counted: number
  elsewhere: number
  notPlaced: number
  notConfirmed: number
  halfWithinDays: number | null
  mostWithinDays: number | null
  tooYoung: number
}

interface Shipped {
  pack: number
  at: Ms
  castings: number
  customer: string
}

type Complained = FactOf<'complained', number>

const DAY = 86_400_000

/** Rows are packs, product by product. */
export function market(
  { view, asOf }: Moment,
  plant: string,
  of: ComplaintsOf,
): { looked: LookedAt; heard: Heard } {
  const left = leftThe(view, plant)
  const rows = rowsOf(left, of)
  const rowAt = new Map(rows.map((row) => [`${row.things[0]} ${row.product}`, row]))
  const heard = { complained: 0, counted: 0, elsewhere: 0, notPlaced: 0, notConfirmed: 0 }
  const delays: { days: number; weight: number }[] = []
  for (const told of complaintsOf(view, plant, of)) {
    const { fact } = told
    heard[told.confirmed === false ? 'notConfirmed' : 'complained'] += told.castings
    if (told.confirmed === false) continue
    const placed = placesOf(view, told, left)
    if (placed.length === 0) heard.notPlaced += told.castings
    for (const { pack, at, product, part } of placed) {
      const row = rowAt.get(`${pack} ${product}`)
      const castings = told.castings * part
      heard[row ? 'counted' : 'elsewhere'] += castings
      if (!row) continue
      row.defective = Math.min(row.castings, row.defective + castings)
      delays.push({ days: (fact.at - at) / DAY, weight: castings })
    }
  }
  const mostWithinDays = within(delays, 0.9)
  const young = mostWithinDays === null ? 0 : mostWithinDays * DAY
  return {
    looked: madeOf(view, plant, rows),
    heard: {
      ...heard,
      halfWithinDays: within(delays, 0.5),
      mostWithinDays,
      tooYoung: rows.reduce((sum, row) => sum + (asOf - row.at < young ? row.castings : 0), 0),
    },
  }
}

/** Every complaint of a plant, and which packs shipped before it may be of. */
export function placedComplaints(view: View, plant: string): { told: Told; places: Placed[] }[] {
  const left = leftThe(view, plant)
  return [...complaintsOf(view, plant, {})].map((told) => ({
    told,
    places: placesOf(view, told, left),
  }))
}

function* complaintsOf(
  view: View,
  plant: string,
  of: Pick<ComplaintsOf, 'defects' | 'product'>,
): Iterable<Told> {
  for (const { fact } of view.book.all('complained', view.asOf)) {
    const told = view.things.plant(fact.of) === plant ? asTold(view, fact, of) : undefined
    if (told) yield told
  }
}

/** Everything that left a plant, product by product, in the order in which rows of `market` are; rows have no complaints. */
export function everythingShipped(view: View, plant: string): { looked: LookedAt; lines: Line[] } {
  const { shipped, productsOf } = leftThe(view, plant)
  const lines = [...shipped].flatMap(([pack, all]) =>
    all.flatMap(({ at, castings }) =>
      [...productsOf(pack)].map(([product, part]): Line => ({ pack, product, at, castings, part })),
    ),
  )
  lines.sort((a, b) => a.at - b.at || a.pack - b.pack)
  const rows = lines.map(
    ({ pack, product, at, castings, part }): Row => ({
      ...{ at, product, things: [pack], castings: castings * part, defective: 0 },
    }),
  )
  return { looked: madeOf(view, plant, rows), lines }
}

/** One product of one pack, and one time that it left. */
interface Line {
  pack: number
  product: string
  at: Ms
  /** Of the pack, whatever the product. */
  castings: number
  /** Part of the pack that is of the product. */
  part: number
}

/** What left the plant: lines of shipments by pack, and the parts of a pack by product. */
interface Left {
  shipped: ReadonlyMap<number, readonly Shipped[]>
  productsOf(pack: number): Map<string, number>
}

function leftThe(view: View, plant: string): Left {
  const parts = new Map<number, Map<string, number>>()
  return {
    shipped: shippedBy(view, plant),
    productsOf: (pack) => kept(parts, pack, () => productParts(view, pack)),
  }
}

function shippedBy(view: View, plant: string): Map<number, Shipped[]> {
  const { book, things, asOf } = view
  const packs = new Set(
    [...book.all('pack-line', asOf), ...book.all('repacked', asOf)].map(({ fact }) => fact.of),
  )
  const shipped = new Map<number, Shipped[]>()
  for (const pack of packs) {
    if (things.plant(pack) !== plant) continue
    const lines = book
      .other(pack, 'shipped', asOf)
      .map(({ fact: { at, amount, customer } }) => ({ pack, at, castings: amount, customer }))
    if (lines.length > 0) shipped.set(pack, lines)
  }
  return shipped
}

/** Parts of a pack by product; they sum to 1. */
function productParts(view: View, pack: number): Map<string, number> {
  const held = view.castings.slotsOf(pack)
  const all = held.reduce((sum, { castings }) => sum + castings, 0)
  const parts = new Map<string, number>()
  for (const { product, castings } of held)
    parts.set(product, (parts.get(product) ?? 0) + castings / all)
  return all > 0 ? parts : new Map([['', 1]])
}

function rowsOf({ shipped, productsOf }: Left, { window, product: only }: ComplaintsOf): Row[] {
  const rows: Row[] = []
  for (const [pack, lines] of shipped) {
    const inside = lines.filter(({ at }) => at >= window.from && at < window.to)
    const castings = inside.reduce((sum, line) => sum + line.castings, 0)
    if (castings <= 0) continue
    const at = Math.min(...inside.map((line) => line.at))
    for (const [product, part] of productsOf(pack))
      if (only == null || only === product)
        rows.push({ at, product, things: [pack], castings: castings * part, defective: 0 })
  }
  return rows.sort((a, b) => a.at - b.at || a.things[0]! - b.things[0]!)
}

interface Told {
  fact: Complained
  castings: number
  /** As examined, or else as told. */
  defect: string | undefined
  /** Undefined while nobody has examined it. */
  confirmed?: boolean
  /** What examination found it to be of: tells more than marks where it is a pack or a piece. */
  of?: number
}

/** Undefined where it is about something else than was asked. */
function asTold(
  view: View,
  fact: Complained,
  { defects, product }: Pick<ComplaintsOf, 'defects' | 'product'>,
): Told | undefined {
  const examined = view.book.of(fact.of, 'complaint-examined', view.asOf).at(-1)?.fact
  const defect = examined?.confirmed ? examined.defect : (fact.defect ?? examined?.defect)
  if (defects && (defect === undefined || !defects.includes(defect))) return undefined
  if (product != null && fact.product !== undefined && fact.product !== product) return undefined
  return {
    ...{ fact, castings: fact.amount ?? 1, defect },
    ...(examined && { confirmed: examined.confirmed }),
    ...(examined?.other !== undefined && { of: examined.other }),
  }
}

interface Placed {
  pack: number
  at: Ms
  product: string
  part: number
}

/** Packs it may be of and their products, with the chance of each; empty where nothing fits. */
function placesOf(view: View, { fact, of }: Told, { shipped, productsOf }: Left): Placed[] {
  const examined = of === undefined ? [] : packsNamed(view, of)
  const packs = examined.length > 0 ? examined : packsMarked(view, fact.marks, shipped)
  const before = packs.flatMap((pack) => shipped.get(pack) ?? []).filter(({ at }) => at <= fact.at)
  const theirs = before.filter(({ customer }) => customer === fact.customer)
  const placed = (theirs.length > 0 ? theirs : before).flatMap(({ pack, at, castings }) =>
    [...productsOf(pack)]
      .filter(([product]) => fact.product === undefined || product === fact.product)
      .map(([product, part]) => ({ pack, at, product, part: castings * part })),
  )
  const all = placed.reduce((sum, { part }) => sum + part, 0)
  return all > 0 ? placed.map((one) => ({ ...one, part: one.part / all })) : []
}

/** Packs that fit the most of the marks told. */
function packsMarked(
  view: View,
  told: readonly string[],
  shipped: ReadonlyMap<number, unknown>,
): number[] {
  const fitting = new Map<number, number>()
  for (const pack of shipped.keys()) {
    const marks = view.book.of(pack, 'pack-marked', view.asOf).map(({ fact }) => fact.mark)
    const fits = told.filter((written) => marks.some((mark) => fitsMark(written, mark))).length
    if (fits > 0) fitting.set(pack, fits)
  }
  for (const written of told)
    for (const pack of packsOfSerial(view, written, shipped))
      fitting.set(pack, (fitting.get(pack) ?? 0) + 1)
  const most = Math.max(...fitting.values())
  return [...fitting].filter(([, fits]) => fits === most).map(([pack]) => pack)
}

/** Where a mark is the number of a piece, the pack it was put into. */
function packsOfSerial(
  view: View,
  written: string,
  shipped: ReadonlyMap<number, unknown>,
): number[] {
  const [any] = shipped.keys()
  const plant = any === undefined ? undefined : view.things.plant(any)
  const pan = plant === undefined ? undefined : view.things.numberOf(plant, `pan:${written.trim()}`)
  return pan === undefined ? [] : packsNamed(view, pan)
}

function packsNamed(view: View, no: number): number[] {
  switch (view.things.kind(no)) {
    case 'pack':
      return [no]
    case 'pan':
      return view.book.of(no, 'pan-packed', view.asOf).map(({ fact }) => fact.via)
    default:
      return []
  }
}

/** Days within which so much of the weight lies. */
function within(delays: { days: number; weight: number }[], part: number): number | null {
  const all = delays.reduce((sum, { weight }) => sum + weight, 0)
  let sum = 0
  for (const { days, weight } of [...delays].sort((a, b) => a.days - b.days)) {
    sum += weight
    if (sum >= part * all - 1e-9) return days
  }
  return null
}
