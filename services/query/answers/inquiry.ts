// What is this mark, and may the caller be reassured? Nothing in the answer leads to a lot, heat, recipe,
// supplier or customer: it is made of words, days and counts.
import type { Ms } from '../../events/fact.ts'
import type { View } from '../../metal/followed.ts'
import { originsOf } from '../../metal/origins.ts'
import type { Context } from '../context.ts'
import { grouped } from '../estimate.ts'
import { coveredNow } from '../matters/covered.ts'
import type { Matter } from '../matters/matter.ts'
import { completenessOf } from '../record/completeness.ts'
import { type Found, find } from '../things/name.ts'
import { restsOf } from './origins.ts'

export interface InquiryArgs {
  mark: string
  customer?: string | null
}

/** From the most careful to the least. */
const REASSURANCES = ['RECALLED', 'NOT_YET', 'CANNOT_SAY', 'MAY'] as const
type Reassurance = (typeof REASSURANCES)[number]

/** Words of the plant where quality wrote none. */
const STANDING_WORDS: Record<Reassurance, string[]> = {
  RECALLED: [
    'Thank you for telling us. Pans with this mark are being called back.',
    'Please stop using it and set it aside. We will tell you what to do with it.',
  ],
  NOT_YET: [
    'Thank you for telling us. We are looking at pans made at that time.',
    'Please set yours aside and do not use it until we call you back.',
  ],
  CANNOT_SAY: [
    'Thank you for telling us. I cannot say anything about this mark yet.',
    'Please set it aside until our quality people have looked and we call you back.',
  ],
  MAY: ['Nothing is known against pans with this mark.'],
}

const BECAUSE: Record<Reassurance, string> = {
  RECALLED: 'A recall covers this mark.',
  NOT_YET:
    'Something is being looked into that touches this mark. The reason is not ours to pass on.',
  CANNOT_SAY: 'Not all reports behind this mark are in.',
  MAY: 'No notice exists, and all reports behind this mark are in. This is not a promise of safety.',
}

const NEXT: Record<Reassurance, string> = {
  RECALLED: 'Write the caller down with the recall, and tell quality.',
  NOT_YET: 'Write it down, and ask quality when it will be decided.',
  CANNOT_SAY: 'Write it down, and ask quality.',
  MAY: 'If something is wrong with the pan, write it down all the same.',
}

export async function inquiry(context: Context, { mark, customer }: InquiryArgs): Promise<object> {
  const found = await find(context, { scan: mark })
  if (found.found === 'none')
    return {
      __typename: 'MarkNotFound',
      written: found.written,
      sentence: `${found.sentence} Write the complaint down all the same.`,
      near: found.near,
    }
  if (found.found === 'several') return unclear(context, found)
  return oneMark(context, found, customer ?? undefined)
}

async function oneMark(
  context: Context,
  { no, name }: Extract<Found, { found: 'one' }>,
  customer: string | undefined,
): Promise<object> {
  const { view, asOf } = (await context.snapshot()).at()
  const kind = view.things.kind(no)
  if (kind !== 'pack' && kind !== 'pan')
    return {
      __typename: 'MarkNotFound',
      written: name,
      sentence: 'That is not a mark of a pan or a pack: read the mark on the iron or the carton.',
      near: [],
    }
  const judged = await judge(context, no)
  const told = judged.matter?.say
  const shipments = shipmentsOf(view, no)
  return {
    __typename: 'Inquiry',
    mark: markOf(view, no),
    reassurance: judged.reassurance,
    say: told === undefined ? STANDING_WORDS[judged.reassurance] : [told],
    because: BECAUSE[judged.reassurance],
    next: NEXT[judged.reassurance],
    products: productsOf(view, no).map((product) => ({ name: product })),
    castings: kind === 'pan' ? 1 : castingsPacked(view, no),
    made: madeOf(view, no),
    shippedOn: shipments[0]?.at ?? null,
    shippedToCaller:
      customer === undefined ? null : shipments.some((one) => alike(one.customer, customer)),
    inspected: inspectedOf(view, no),
    complaints: complaintsOn(view, context.plant, no),
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

/** The most careful of what holds for a pack or pan. */
async function judge(context: Context, no: number) {
  const snapshot = await context.snapshot()
  const { view, asOf } = snapshot.at()
  const covered = coveredNow(snapshot, context.plant)
  const things = [no, ...packsOfPan(view, no)]
  const first = (of: (thing: number) => Matter | undefined) =>
    things.map(of).find((matter) => matter !== undefined)
  const origins = originsOf(view, no)
  const completeness = await completenessOf(context, view, asOf, restsOf(view, no, origins))
  const recalled = first(covered.recalled)
  const held = first(covered.held)
  // A decision whose parts are not all in may cover this mark too.
  const open = [...covered.recalls, ...covered.holds].some(({ partsMissing }) => partsMissing > 0)
  const whole = origins !== undefined && completeness.verdict === 'WHOLE' && !open
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

async function unclear(
  context: Context,
  { written, candidates }: Extract<Found, { found: 'several' }>,
): Promise<object> {
  const { view } = (await context.snapshot()).at()
  const judged = await Promise.all(candidates.map(({ no }) => judge(context, no)))
  // There may be more than were looked at: nothing less careful than that can be said.
  const careful: Reassurance[] = candidates.length > MOST_CANDIDATES ? ['CANNOT_SAY'] : []
  const worst = [...careful, ...judged.map(({ reassurance }) => reassurance)]
  const reassurance = REASSURANCES.find((word) => worst.includes(word))!
  const shown = candidates.slice(0, MOST_CANDIDATES).map(({ no }) => ({
    mark: markOf(view, no),
    products: productsOf(view, no).map((name) => ({ name })),
    made: madeOf(view, no),
  }))
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

/** What splits the candidates into the smallest parts: the product, else the signs of the mark. */
function questionFor(candidates: readonly Candidate[]): string {
  const products = new Set(candidates.flatMap((one) => one.products.map(({ name }) => name)))
  const largest = (key: (one: Candidate) => string) =>
    Math.max(...[...Map.groupBy(candidates, key).values()].map((group) => group.length))
  const byProduct = largest((one) => one.products.map(({ name }) => name).join())
  const byMark = largest(({ mark }) => mark)
  if (products.size > 1 && byProduct <= byMark)
    return `Ask the caller which it is: ${[...products].slice(0, MOST_CANDIDATES).join(', or ')}?`
  if (byMark < candidates.length)
    return `Ask the caller to read the mark again: is it ${candidates.map(({ mark }) => mark).join(', or ')}?`
  return 'Ask the caller for a photograph of the mark on the iron and of the carton.'
}

function packsOfPan(view: View, no: number): number[] {
  if (view.things.kind(no) !== 'pan') return []
  return view.book.of(no, 'pan-packed', view.asOf).map(({ fact }) => fact.via)
}

function packOf(view: View, no: number): number {
  return packsOfPan(view, no)[0] ?? no
}

function markOf(view: View, no: number): string {
  const marks = view.book.of(packOf(view, no), 'pack-marked', view.asOf)
  const number = view.things.name(no).replace(/^[a-z]+:/, '')
  return view.things.kind(no) === 'pan' ? number : (marks.at(-1)?.fact.mark ?? number)
}

function productsOf(view: View, no: number): string[] {
  const pack = packOf(view, no)
  const lines = view.book.of(pack, 'pack-line', view.asOf).map(({ fact }) => fact.product)
  const repacked = view.book.of(pack, 'repacked', view.asOf).map(({ fact }) => fact.product)
  return [...new Set([...lines, ...repacked])]
}

function castingsPacked(view: View, no: number): number {
  const { book, asOf } = view
  const packed = [...book.of(no, 'pack-line', asOf), ...book.of(no, 'repacked', asOf)]
  return Math.round(packed.reduce((sum, { fact }) => sum + fact.amount, 0))
}

/** From the first to the last pour that any of it may be from. */
function madeOf(view: View, no: number): { from: Ms; to: Ms } | null {
  const pours = originsOf(view, no)?.pours ?? []
  const poured = pours.flatMap(({ pour }) => view.book.of(pour, 'poured', view.asOf))
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

/** What inspection saw of it and of what it was packed from, in a sentence; null when it saw nothing. */
function inspectedOf(view: View, no: number): string | null {
  const pack = packOf(view, no)
  const sources = view.castings.sourcesOf(pack).map(({ of }) => of)
  let [looked, bad] = [0, 0]
  for (const thing of [pack, ...sources])
    for (const { fact } of view.book.of(thing, 'inspected', view.asOf)) {
      looked += fact.castings
      bad += fact.defective ?? 0
    }
  if (looked === 0) return null
  const found = bad === 0 ? 'none' : grouped(bad)
  return `${grouped(looked)} looked at before packing, ${found} bad.`
}

function complaintsOn(view: View, plant: string, no: number): number {
  const mark = markOf(view, no)
  const packMark = markOf(view, packOf(view, no))
  return view.book
    .all('complained', view.asOf)
    .filter(
      ({ fact }) =>
        view.things.plant(fact.of) === plant &&
        fact.marks.some((said) => alike(said, mark) || alike(said, packMark)),
    ).length
}

/** As people write names and marks: whatever the case, spaces and dashes. */
function alike(a: string, b: string): boolean {
  const plain = (text: string) => text.toUpperCase().replaceAll(/[\s-]/g, '')
  return plain(a) === plain(b)
}
