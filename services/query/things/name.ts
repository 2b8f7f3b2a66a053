// What is called so? Ids are exact; marks are read as people read them; a scan is taken apart first.
import { hasOneOf } from '../../access/who.ts'
import type { Name } from '../../events/fact.ts'
import { readNamedBy, readNearNames } from '../../store/read-near.ts'
import type { Context } from '../context.ts'
import { namesIn } from './scan.ts'
import { idOf, isShown, NOW, type ThingBy } from './thing.ts'

/** What a written name turned out to be. */
export type Found =
  | { found: 'one'; no: number; name: Name }
  | { found: 'several'; written: string; candidates: FoundCandidate[] }
  | { found: 'none'; written: string; sentence: string; near: string[] }

export interface FoundCandidate {
  no: number
  because: string
  /** Adds up to 1 over all that fit. */
  fit: number
}

/**
 * Finds what is called so: an id exactly, a mark whatever its case, inner spaces and dashes, with ?
 * for a sign that cannot be read; a scan is taken apart first.
 */
export async function find(context: Context, by: ThingBy, asOf = NOW): Promise<Found> {
  const { id, mark, scan } = by
  if (id !== undefined) return findId(context, id, asOf)
  if (mark !== undefined) return findMark(context, mark, asOf)
  return findScan(context, scan ?? '', asOf)
}

/** The same for many ids at once, in the order given. */
export function findIds(context: Context, ids: readonly string[], asOf = NOW): Promise<Found[]> {
  return Promise.all(ids.map((id) => findId(context, id, asOf)))
}

/** The GraphQL object Unclear or NotKnown that says so. */
export function notOne(
  context: Context,
  found: Exclude<Found, { found: 'one' }>,
  asOf = NOW,
): object {
  if (found.found === 'none') {
    const { written, sentence, near } = found
    return { __typename: 'NotKnown', written, sentence, near }
  }
  return {
    __typename: 'Unclear',
    written: found.written,
    candidates: found.candidates.map(({ no, because, fit }) => ({
      thing: () => context.things.one(no, asOf),
      because,
      fit,
    })),
  }
}

const ID = /^(?:([a-z0-9-]{1,20})\/)?([a-z]+):([^\s:\0]{1,64})$/

async function findId(context: Context, written: string, asOf: number): Promise<Found> {
  const parts = ID.exec(written)
  const [, plant = context.plant, kind = '', number = ''] = parts ?? []
  if (!parts || !isShown(kind))
    return none(written, 'An id is written kind:number, such as lot:3381 or pack:K26-0412.')
  if (plant !== context.plant || (FOR_QUALITY.has(kind) && !hasOneOf(context.who, ['quality'])))
    return none(written, sentenceOf(kind, number))
  const name = `${kind}:${number}`
  const no = await context.things.numberOf(plant, name)
  if (no !== undefined && (await isNamedBy(context, no, asOf))) return { found: 'one', no, name }
  const near = await readNearNames(context.store.pool, plant, kind, variants(number))
  return none(
    written,
    sentenceOf(kind, number),
    near.map((found) => idOf(context.plant, { plant, name: found })),
  )
}

function sentenceOf(kind: string, number: string): string {
  return `No report names ${kind} ${number}. Check each sign, or look it up in the list of its kind.`
}

/** To others, what is not theirs to see is like what is not there. */
const FOR_QUALITY: ReadonlySet<string> = new Set(['shipment'])

/** Whether any report taken in by then names it. */
async function isNamedBy(context: Context, no: number, asOf: number): Promise<boolean> {
  return asOf === NOW || (await readNamedBy(context.store.pool, no, asOf))
}

/** Fewer signs that can be read would fit nearly everything. */
const LEAST_READ = 3
const MOST_CANDIDATES = 10

async function findMark(context: Context, written: string, asOf: number): Promise<Found> {
  const { plant } = context
  const { marks, things } = await context.snapshot()
  const mark = written.trim()
  const read = mark.replace(/[?\s-]/g, '').length
  if (mark.length > 100 || read < LEAST_READ || mark.includes('\0'))
    return none(
      written,
      `A mark needs at least ${LEAST_READ} signs that can be read, and at most 100.`,
    )
  const packs = marks.packs(plant, mark, asOf)
  const pan = mark.includes('?') ? undefined : things.numberOf(plant, `pan:${mark}`)
  const candidates = [
    ...(pan === undefined ? [] : [{ no: pan, because: 'its serial is that' }]),
    ...[...packs].map(([no, borne]) => ({ no, because: `it bears the mark ${borne.join(', ')}` })),
  ]
  if (candidates.length === 1) {
    const { no } = candidates[0]!
    return { found: 'one', no, name: things.name(no) }
  }
  if (candidates.length > 1) {
    const fit = 1 / candidates.length
    const likeliest = candidates.slice(0, MOST_CANDIDATES)
    return { found: 'several', written, candidates: likeliest.map((one) => ({ ...one, fit })) }
  }
  const near = mark.includes('?') ? [] : marks.near(plant, variants(mark))
  return none(
    written,
    'No pack bears this mark. Check each sign, and write ? for one that cannot be read.',
    near,
  )
}

async function findScan(context: Context, scan: string, asOf: number): Promise<Found> {
  let last: Found | undefined
  for (const name of namesIn(scan)) {
    const found = await find(context, name, asOf)
    if (found.found !== 'none') return found
    last ??= found
  }
  return none(
    scan,
    'Nothing that this code names has been reported. Check that it is one of ours.',
    last?.found === 'none' ? last.near : [],
  )
}

function none(written: string, sentence: string, near: string[] = []): Found {
  return { found: 'none', written, sentence, near }
}

const SIGNS = [...'0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-']

/** A written name with one sign changed, in every way. */
export function variants(written: string): string[] {
  const changed: string[] = []
  for (let i = 0; i < Math.min(written.length, 40); i++)
    for (const sign of SIGNS)
      if (sign !== written[i]) changed.push(written.slice(0, i) + sign + written.slice(i + 1))
  return changed
}
