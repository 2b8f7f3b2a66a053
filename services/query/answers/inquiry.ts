// What is this mark, and may the caller be reassured? Nothing in the answer leads to a lot, heat, recipe,
// supplier or customer: it is made of words, days and counts.
import type { Ms } from '../../events/fact.ts'
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import { upstreamOf } from '../../metal/upstream.ts'
import type { Context } from '../context.ts'
import { grouped } from '../estimate.ts'
import { coveredIn } from '../matters/covered.ts'
import type { Matter } from '../matters/matter.ts'
import { completenessOf, type Rests } from '../record/completeness.ts'
import { markKey } from '../record/mark-book.ts'
import { markOf } from '../things/marks.ts'
import { find } from '../things/name.ts'
import { restsOn } from './origins.ts'
import { BECAUSE, NEXT, REASSURANCES, type Reassurance, STANDING_WORDS } from './words-to-say.ts'

export interface InquiryArgs {
  mark: string
  customer?: string | null
}

/** A plant that reports all the time always has something on its way, and a caller waits so long. Unit: ms. */
const PATIENCE_MS = 1_000

export async function inquiry(context: Context, { mark, customer }: InquiryArgs): Promise<object> {
  await context.level?.(PATIENCE_MS)
  const found = await find(context, { scan: mark })
  if (found.found === 'none')
    return notFound(
      found.written,
      `${found.sentence} Write the complaint down all the same.`,
      found.near,
    )
  const { view } = (await context.snapshot()).at()
  const all = (found.found === 'one' ? [found.no] : found.candidates.map(({ no }) => no)).filter(
    (no) => ['pack', 'pan'].includes(view.things.kind(no)),
  )
  if (all.length === 0)
    return notFound(
      mark,
      'That is not a mark of a pan or a pack: read the mark on the iron or the carton.',
    )
  // Of many that fit, not all are named: nothing may be promised of the rest.
  const whole = found.found === 'one' || Math.round(1 / found.candidates[0]!.fit) === all.length
  const byMark = Map.groupBy(all, (no) => markOf(view, no, mark))
  const [only] = byMark
  return byMark.size === 1
    ? oneMark(context, { mark: only![0], things: only![1], whole }, customer ?? undefined)
    : unclear(context, { written: mark, byMark, whole })
}

function notFound(written: string, sentence: string, near: string[] = []): object {
  return { __typename: 'MarkNotFound', written, sentence, near }
}

/** A mark, and every pack or pan that bears it. */
interface Marked {
  mark: string
  things: number[]
  /** There are no others. */
  whole: boolean
}

async function oneMark(
  context: Context,
  { mark, things, whole }: Marked,
  customer: string | undefined,
): Promise<object> {
  const { view, asOf } = (await context.snapshot()).at()
  const judged = await judge(context, things, whole)
  const told = judged.matter?.say
  const shipments = things.flatMap((no) => shipmentsOf(view, no)).sort((a, b) => a.at - b.at)
  return {
    __typename: 'Inquiry',
    mark,
    reassurance: judged.reassurance,
    say: told === undefined ? STANDING_WORDS[judged.reassurance] : [told],
    because: BECAUSE[judged.reassurance],
    next: NEXT[judged.reassurance],
    ...whatItIs(view, things),
    packs: things.length,
    castings: things.reduce((sum, no) => sum + castingsPacked(view, no), 0),
    shippedOn: shipments[0]?.at ?? null,
    shippedToCaller:
      customer === undefined ? null : shipments.some((one) => alike(one.customer, customer)),
    inspected: inspectedOf(view, things),
    complaints: complaintsOn(view, context.plant, mark),
    completeness: judged.completeness,
    asOf,
    cautions: [
      {
        code: 'not-a-promise',
        sentence:
          'This says what is known of the mark, not that the pan is safe: one that looks wrong is set aside.',
      },
    ],
  }
}

/** What a caller can see of it. */
function whatItIs(view: View, things: readonly number[]) {
  const names = new Set(things.flatMap((no) => productsOf(view, no)))
  return { products: [...names].map((name) => ({ name })), made: madeOf(view, things) }
}

/** The most careful of what holds for any of the packs and pans. */
async function judge(context: Context, things: readonly number[], whole: boolean) {
  const judged = await Promise.all(things.map((no) => judgeOne(context, no)))
  const at = (word: Reassurance) => judged.find(({ reassurance }) => reassurance === word)
  const worst = REASSURANCES.map(at).find((one) => one !== undefined)!
  if (whole || worst.reassurance !== 'MAY') return worst
  return { ...worst, reassurance: 'CANNOT_SAY' as const }
}

async function judgeOne(context: Context, no: number) {
  const { view, asOf } = (await context.snapshot()).at()
  const covered = coveredIn(view, context.plant)
  const things = [no, ...packsOfPan(view, no)]
  const first = (of: (thing: number) => Matter | undefined) =>
    things.map(of).find((matter) => matter !== undefined)
  const { known, rests } = behindOf(view, no)
  const completeness = await completenessOf(context, view, asOf, rests)
  const recalled = first(covered.recalled)
  const held = first(covered.held)
  // A decision whose parts are not all in may cover this mark too.
  const open = [...covered.recalls, ...covered.holds].some(({ partsMissing }) => partsMissing > 0)
  const whole = known && completeness.verdict === 'WHOLE' && !open
  const reassurance: Reassurance = recalled
    ? 'RECALLED'
    : held
      ? 'NOT_YET'
      : whole
        ? 'MAY'
        : 'CANNOT_SAY'
  return { reassurance, matter: recalled ?? held, completeness }
}

/** More than these cannot be asked apart over a telephone. */
const MOST_CANDIDATES = 5

interface Unclear {
  written: string
  byMark: ReadonlyMap<string, number[]>
  whole: boolean
}

async function unclear(context: Context, { written, byMark, whole }: Unclear): Promise<object> {
  const { view } = (await context.snapshot()).at()
  const { reassurance } = await judge(context, [...byMark.values()].flat(), whole)
  const shown = [...byMark]
    .slice(0, MOST_CANDIDATES)
    .map(([mark, things]) => ({ mark, ...whatItIs(view, things) }))
  return {
    __typename: 'MarkUnclear',
    written,
    askCaller: questionFor(shown),
    candidates: shown,
    reassurance,
    say: STANDING_WORDS[reassurance],
  }
}

interface Candidate {
  mark: string
  products: { name: string }[]
  made: { from: Ms; to: Ms } | null
}

/** What splits the candidates best: the product where that alone tells them apart, else the mark. */
function questionFor(candidates: readonly Candidate[]): string {
  const names = candidates.map(({ products }) => products.map(({ name }) => name).join(' with '))
  if (new Set(names).size === candidates.length)
    return `Ask the caller which it is: ${names.join(', or ')}?`
  return `Ask the caller to read the mark again: is it ${candidates.map(({ mark }) => mark).join(', or ')}?`
}

/** What a mark's answer needs of where its thing came from. */
interface Behind {
  known: boolean
  pours: readonly number[]
  rests: Rests
}

/** Of one state of the record, by thing: callers ask about the same marks when something is wrong. */
const behind = new WeakMap<View, Map<number, Behind>>()
const MOST_BEHIND = 2000

function behindOf(view: View, no: number): Behind {
  const found = kept(behind, view, () => new Map<number, Behind>())
  return kept(found, no, () => {
    if (found.size >= MOST_BEHIND) found.clear()
    const upstream = upstreamOf(view, no)
    return {
      known: upstream !== undefined,
      pours: [...(upstream?.pours ?? [])],
      rests: restsOn(new Set([no, ...(upstream?.things ?? [])]), no),
    }
  })
}

function packsOfPan(view: View, no: number): number[] {
  if (view.things.kind(no) !== 'pan') return []
  return view.book.of(no, 'pan-packed', view.asOf).map(({ fact }) => fact.via)
}

function packOf(view: View, no: number): number {
  return packsOfPan(view, no)[0] ?? no
}

function productsOf(view: View, no: number): string[] {
  const pack = packOf(view, no)
  const lines = view.book.of(pack, 'pack-line', view.asOf).map(({ fact }) => fact.product)
  const repacked = view.book.of(pack, 'repacked', view.asOf).map(({ fact }) => fact.product)
  return [...new Set([...lines, ...repacked])]
}

function castingsPacked(view: View, no: number): number {
  if (view.things.kind(no) === 'pan') return 1
  const { book, asOf } = view
  const packed = [...book.of(no, 'pack-line', asOf), ...book.of(no, 'repacked', asOf)]
  return Math.round(packed.reduce((sum, { fact }) => sum + fact.amount, 0))
}

/** From the first to the last pour that any of it may be from. */
function madeOf(view: View, things: readonly number[]): { from: Ms; to: Ms } | null {
  const pours = things.flatMap((no) => behindOf(view, no).pours)
  const poured = pours.flatMap((pour) => view.book.of(pour, 'poured', view.asOf))
  if (poured.length === 0) return null
  return {
    from: Math.min(...poured.map(({ fact }) => fact.from)),
    to: Math.max(...poured.map(({ fact }) => fact.at)),
  }
}

function shipmentsOf(view: View, no: number): { at: Ms; customer: string }[] {
  return view.book
    .other(packOf(view, no), 'shipped', view.asOf)
    .map(({ fact: { at, customer } }) => ({ at, customer }))
}

/** What inspection saw of them and of what they were packed from, in a sentence; null when it saw nothing. */
function inspectedOf(view: View, things: readonly number[]): string | null {
  const packs = things.map((no) => packOf(view, no))
  const sources = packs.flatMap((pack) => view.castings.sourcesOf(pack).map(({ of }) => of))
  let [looked, bad] = [0, 0]
  for (const thing of new Set([...packs, ...sources]))
    for (const { fact } of view.book.of(thing, 'inspected', view.asOf)) {
      looked += fact.castings
      bad += fact.defective ?? 0
    }
  if (looked === 0) return null
  return `${grouped(looked)} looked at before packing, ${bad === 0 ? 'none' : grouped(bad)} bad.`
}

function complaintsOn(view: View, plant: string, mark: string): number {
  return view.book
    .all('complained', view.asOf)
    .filter(
      ({ fact }) =>
        view.things.plant(fact.of) === plant && fact.marks.some((said) => alike(said, mark)),
    ).length
}

/** As people write names and marks: whatever the case, spaces and dashes. */
function alike(a: string, b: string): boolean {
  return markKey(a) === markKey(b)
}
