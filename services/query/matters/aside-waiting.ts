// Reports that were set aside and wait to be put right: to quality by what they name, to a keeper by why.
import { hasOneOf } from '../../access/who.ts'
import { STATIONS } from '../../events/fact.ts'
import type { View } from '../../metal/followed.ts'
import { type AsideOpen, readAsideOpen } from '../../store/read-aside.ts'
import { placeText } from '../../store/read-in-force.ts'
import type { Context } from '../context.ts'
import { grouped, listed } from '../estimate.ts'
import type { Waits } from './waits.ts'

/** Of more, the newest are named. */
const MOST_NAMED = 50

export async function asideWaiting(context: Context, view: View): Promise<Waits[]> {
  const open = await readAsideOpen(context.store.pool, context.plant, MOST_NAMED + 1)
  const isQuality = hasOneOf(context.who, ['quality'])
  const all = open.slice(0, MOST_NAMED).map((aside) => ({
    aside,
    named: isQuality ? thingsIn(context, view, aside) : [],
  }))
  const one = isQuality ? all.filter(({ named }) => named.length > 0) : all
  const waits = one.map(({ aside, named }) => waitsFor(aside, named))
  const others = all.length - one.length
  if (others > 0)
    waits.push(
      together(
        `${grouped(others)} ${others === 1 ? 'report that names' : 'reports that name'} nothing known ${others === 1 ? 'was' : 'were'} set aside.`,
      ),
    )
  if (open.length > MOST_NAMED)
    waits.push(together(`More than ${MOST_NAMED} reports are set aside: these are the newest.`))
  return waits
}

function waitsFor(aside: AsideOpen, named: readonly string[]): Waits {
  const station = STATIONS.find((each) => aside.topic.endsWith(each)) ?? 'quality'
  const id = `report:${placeText(aside)}`
  return {
    sort: 'SET_ASIDE',
    sentence:
      named.length > 0
        ? `A report of ${station} was set aside that names ${listed(named, 4)}: until it is put right, ${named.length === 1 ? 'it' : 'they'} may not be called clear.`
        : `A report of ${station} was set aside: ${aside.reason}`,
    ...{ about: id, since: aside.recorded, due: null, source: null },
    settledBy: { sentence: 'What does that report say?', question: 'NODE', of: id },
  }
}

function together(sentence: string): Waits {
  return {
    ...{ sort: 'SET_ASIDE', sentence, about: null, since: null, due: null, source: null },
    settledBy: { sentence: 'What was set aside?', question: 'SET_ASIDE', of: null },
  }
}

const KINDS_NAMED = [
  'lot',
  'charge',
  'heat',
  'ladle',
  'sand',
  'molds',
  'pour',
  'load',
  'tote',
  'pack',
  'pan',
]

/** Things that its texts name, by id or by number alone. */
function thingsIn({ plant }: Context, { things }: View, { bytes }: AsideOpen): string[] {
  const found = new Set<string>()
  const text = Buffer.from(bytes).toString('utf8')
  for (const [, word] of text.matchAll(/"([^"\\\s]{2,90})"/g)) {
    const ids = word!.includes(':') ? [word!] : KINDS_NAMED.map((kind) => `${kind}:${word}`)
    for (const id of ids)
      if (things.numberOf(plant, id) !== undefined) found.add(id.replace(':', ' '))
  }
  return [...found]
}
