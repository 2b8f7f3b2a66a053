// What an answer rests on: how far the stations have been heard, and where the trail is thin. A clear
// answer needs all of it.
import type { Ms } from '../../events/fact.ts'
import { sentence } from '../../events/merge.ts'
import { NOW } from '../../metal/fact-book.ts'
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import { compareTexts } from '../../metal/things.ts'
import type { Context } from '../context.ts'
import { grouped } from '../estimate.ts'
import { type NamedSince, OWN_REPORT } from './named-only.ts'
import { asideIn } from './record-state.ts'
import { type StationHeard, stationsHeard } from './stations-heard.ts'

export interface Gap {
  sort: 'NOT_YET_REPORTED' | 'SET_ASIDE' | 'NAMED_ONLY' | 'CONFLICT' | 'UNRECORDED' | 'INFERRED'
  about: string | null
  station: string
  report: (() => Promise<object | null>) | null
  sentence: string
  castings: number | null
}

/** The GraphQL object Completeness. */
export interface Completeness {
  verdict: 'WHOLE' | 'WAITING' | 'GAPS'
  sentence: string
  asOf: Ms
  stations(): Promise<StationHeard[]>
  setAside: number
  namedOnly: number
  inferred: number
  conflicts: number
  gaps(args: { first: number }): Gap[]
  /** Whether a report set aside speaks of what is followed: then nothing after it is clear. */
  mentionedAside: boolean
}

/** Which part of the record an answer rests on. */
export interface Rests {
  on(no: number): boolean
  /** Nothing earlier matters. Unit: ms. */
  begins: Ms
  /** Things whose mention in a report set aside matters. */
  named: readonly number[]
}

export async function completenessOf(
  context: Context,
  view: View,
  asOf: Ms,
  rests: Rests,
): Promise<Completeness> {
  const begins = Number.isFinite(rests.begins) ? rests.begins : 0
  const aside = await asideIn(context, asOf)
  const setAside = await aside.countSince(begins)
  const names = rests.named.map((no) => view.things.name(no).replace(/^[a-z]+:/, ''))
  const mentions = (await aside.naming(names)).slice(0, MOST_MENTIONS)
  const named = await namedOnly(context, view, rests)
  const others = [...unrecorded(view, rests), ...(await conflicts(context, view, rests))]
  // Decisions that wait count too: a hold may be among them.
  const waiting = [...(await context.waiting()).values()].reduce((sum, count) => sum + count, 0)
  const { stopped: standing } = await context.snapshot()
  const stopped = standing.map(({ topic, partition, why }) => {
    return `nothing more of ${topic}/${partition} is taken in (${why})`
  })
  const unheard = [...((await context.unheard?.()) ?? []), ...stopped]
  const count = (sort: Gap['sort']) => others.filter((gap) => gap.sort === sort).length
  const thin = setAside > 0 || named.length > 0 || others.some(({ sort }) => THIN.has(sort))
  const verdict = thin ? 'GAPS' : waiting > 0 || unheard.length > 0 ? 'WAITING' : 'WHOLE'
  return {
    verdict,
    sentence: sentenceOf(verdict, {
      setAside,
      namedOnly: named.length,
      unrecorded: count('UNRECORDED'),
      inferred: count('INFERRED'),
      waiting,
      unheard,
    }),
    asOf,
    stations: () => stationsHeard(context),
    setAside,
    namedOnly: named.length,
    inferred: count('INFERRED'),
    conflicts: count('CONFLICT'),
    gaps({ first }) {
      const most = Math.min(MOST_GAPS, Math.max(1, first))
      const aside = mentions.map((place) => asideGap(context, place))
      return [...aside, ...namedGaps(view, named, most), ...others].slice(0, most)
    },
    mentionedAside: mentions.length > 0,
  }
}

/** Set-aside reports named as gaps. */
const MOST_MENTIONS = 50
const MOST_GAPS = 50

const THIN: ReadonlySet<Gap['sort']> = new Set(['UNRECORDED', 'INFERRED'])

function sentenceOf(
  verdict: Completeness['verdict'],
  found: {
    setAside: number
    namedOnly: number
    unrecorded: number
    inferred: number
    waiting: number
    unheard: readonly string[]
  },
): string {
  if (verdict === 'WHOLE') return 'Every report that could touch this answer is in.'
  const parts: string[] = []
  if (found.setAside > 0)
    parts.push(`${counted(found.setAside, 'report')} could not be read and may touch it`)
  if (found.namedOnly > 0)
    parts.push(
      `${counted(found.namedOnly, 'thing')} ${found.namedOnly === 1 ? 'was' : 'were'} named and never reported`,
    )
  if (found.unrecorded > 0)
    parts.push(
      `in ${counted(found.unrecorded, 'place')} metal or castings come from where no report says`,
    )
  if (found.inferred > 0)
    parts.push(
      `${counted(found.inferred, 'load')} did not say where ${found.inferred === 1 ? 'its' : 'their'} castings came from, which was filled in`,
    )
  if (found.waiting > 0)
    parts.push(
      `${counted(found.waiting, 'report')} ${found.waiting === 1 ? 'is' : 'are'} on the way`,
    )
  if (found.unheard.length > 0)
    parts.push(`how many are on their way is not known, ${found.unheard.join(' and ')}`)
  return `Not all reports are in: ${parts.join('; ')}.`
}

function counted(count: number, word: string): string {
  return `${grouped(count)} ${word}${count === 1 ? '' : 's'}`
}

type Named = readonly [no: number, since: Ms]

// As of the past: to look for them takes as long as the record is.
const namedThen = new WeakMap<View, NamedSince>()
// Of each state of the record.
const thin = new WeakMap<View, Known[]>()

/** Things named and never reported that an answer rests on. */
async function namedOnly(context: Context, view: View, { on, begins }: Rests): Promise<Named[]> {
  const snapshot = await context.snapshot()
  const all =
    view.asOf === NOW
      ? snapshot.namedOnly(view)
      : kept(namedThen, view, () => snapshot.namedOnly(view))
  const found: Named[] = []
  for (const one of all) if (one[1] >= begins && on(one[0])) found.push(one)
  return found
}

/** The first of them, by when they matter and by name. */
function namedGaps({ things }: View, named: readonly Named[], most: number): Gap[] {
  return [...named]
    .sort((a, b) => a[1] - b[1] || compareTexts(things.name(a[0]), things.name(b[0])))
    .slice(0, most)
    .map(([no]) => {
      const { station, lacks } = OWN_REPORT[things.kind(no)]!
      return {
        sort: 'NAMED_ONLY',
        about: things.name(no),
        station: station.toUpperCase(),
        report: null,
        sentence: `${things.name(no)} ${lacks}.`,
        castings: null,
      }
    })
}

/** A gap of the whole record, the thing it is about, and from when on it matters. */
interface Known {
  gap: Gap
  no: number
  /** Unit: ms. */
  from: Ms
}

function unrecorded(view: View, { on, begins }: Rests): Gap[] {
  return kept(thin, view, () => [...findUnrecorded(view)])
    .filter(({ no, from }) => from >= begins && on(no))
    .map(({ gap }) => gap)
}

function* findUnrecorded(view: View): Iterable<Known> {
  for (const flag of view.castings.gaps()) {
    const gap: Gap = {
      sort: flag.sort === 'filled-in' ? 'INFERRED' : 'UNRECORDED',
      about: view.things.name(flag.about),
      station: stationOf(view, flag.about),
      report: null,
      sentence: `${view.things.name(flag.about)}: ${flag.sentence}`,
      castings: flag.castings === undefined ? null : Math.ceil(flag.castings),
    }
    yield { gap, no: flag.about, from: view.book.firstAt(flag.about, view.asOf) ?? 0 }
  }
}

async function conflicts(context: Context, view: View, rests: Rests): Promise<Gap[]> {
  const snapshot = await context.snapshot()
  const gaps: Gap[] = []
  for (const conflict of snapshot.conflicts()) {
    const subject = conflict.claims[0]!.about.split(' ')[1]
    const no = subject === undefined ? undefined : view.things.numberOf(context.plant, subject)
    if (no === undefined || !rests.on(no)) continue
    gaps.push({
      sort: 'CONFLICT',
      about: subject!,
      station: conflict.claims[0]!.about.split('.')[0]!.toUpperCase(),
      report: null,
      sentence: sentence(conflict),
      castings: null,
    })
  }
  return gaps
}

/** Who reports what goes wrong at a thing. */
function stationOf(view: View, no: number): string {
  return (OWN_REPORT[view.things.kind(no)]?.station ?? 'ship').toUpperCase()
}

function asideGap(
  context: Context,
  place: { topic: string; partition: number; offset: bigint },
): Gap {
  return {
    sort: 'SET_ASIDE',
    about: null,
    station: place.topic.toUpperCase(),
    report: () => context.reports.at(context, place),
    sentence:
      'A report that was set aside speaks of it: until it is put right, nothing after it is clear.',
    castings: null,
  }
}
