// What a reach is asked from, as a person writes it and as an address holds it.
import type { ReachQueryVariables } from '../../asks/reach.ts'
import { shareWords } from '../../words/number.ts'
import { isThing, thingWords, thingWritten } from '../../words/standing.ts'
import { type Group, groupIn, groupParameters, groupWords } from './group.ts'

export interface ReachQuestion {
  /** `kind:number`; what else is written is a mark. */
  from: string[]
  /** In place of things. */
  group: Group | undefined
  counts: Counts
  /** Now when there is none. */
  asOf: string | undefined
}

/** From where on a casting counts: a share of its metal, so many usual doses of an addition, or any of it at all. */
export type Counts = { share: number } | { dose: number } | { touched: true }

/** Somebody who asks without saying counts from 1 in 1,000 on. */
const USUAL_SHARE = 0.001

const BY_MASS = ['lot', 'bin', 'charge', 'furnace', 'heat', 'ladle', 'pour']

export function questionOf(parameters: URLSearchParams): ReachQuestion {
  const group = groupIn(parameters)
  const from = fromWritten(parameters.getAll('from').join(', '))
  const usual = group || !byMass(from) ? { touched: true as const } : { share: USUAL_SHARE }
  return {
    ...{ from, group },
    counts: (group ? undefined : countsOf(parameters)) ?? usual,
    asOf: parameters.get('asOf') ?? undefined,
  }
}

function countsOf(parameters: URLSearchParams): Counts | undefined {
  const [share, dose] = ['share', 'dose'].map((name) => Number(parameters.get(name) ?? Number.NaN))
  if (parameters.has('touched')) return { touched: true }
  if (isDose(dose!)) return { dose: dose! }
  return isShare(share!) ? { share: share! } : undefined
}

const isShare = (share: number) => share > 0 && share <= 1
const isDose = (dose: number) => dose > 0 && dose <= 100

export function parametersOf({ from, group, counts, asOf }: ReachQuestion): URLSearchParams {
  const parameters = new URLSearchParams(group && groupParameters(group))
  for (const id of from) parameters.append('from', id)
  for (const [name, least] of Object.entries(counts)) parameters.set(name, String(Number(least)))
  if (asOf) parameters.set('asOf', asOf)
  return parameters
}

export function variablesOf({ from, group, counts, asOf }: ReachQuestion): ReachQueryVariables {
  return {
    from: group ?? (from.every(isThing) ? { things: from } : { marks: from }),
    affected: counts,
    asOf: asOf ?? null,
  }
}

/** "lot SB-3400, heat F1-2213" as ids; what names no kind stays as it is. */
export function fromWritten(text: string): string[] {
  return text
    .split(/[,;]/)
    .map(thingWritten)
    .filter((name) => name !== '')
}

export function fromWords({ from, group }: ReachQuestion): string {
  if (group) return groupWords(group)
  return from.map((name) => (name.includes(':') ? thingWords(name) : name)).join(', ')
}

/** "1 in 1,000", "0.1 %" or "0.001" as a share, "0.5 doses", "any"; undefined for what is none of these. */
export function countsWritten(text: string): Counts | undefined {
  const plain = text.replaceAll(',', '').trim()
  if (/^(any|all|touched)$/i.test(plain)) return { touched: true }
  const doses = /^([\d.]+)\s*(?:usual\s+)?doses?$/i.exec(plain)
  if (doses) return isDose(Number(doses[1])) ? { dose: Number(doses[1]) } : undefined
  const ratio = /^([\d.]+)\s*(?:in|of|\/)\s*([\d.]+)$/.exec(plain)
  const percent = /^([\d.]+)\s*%$/.exec(plain)
  const share = ratio
    ? Number(ratio[1]) / Number(ratio[2])
    : percent
      ? Number(percent[1]) / 100
      : Number(plain)
  return isShare(share) ? { share } : undefined
}

/** "1 in 1,000", "0.5 doses" or "any". */
export function countsWords(counts: Counts): string {
  if ('touched' in counts) return 'any'
  if ('share' in counts) return shareWords(counts.share)
  return counts.dose === 1 ? '1 dose' : `${Number(counts.dose.toPrecision(2))} doses`
}

export function titleOf(question: ReachQuestion): string {
  const { counts, asOf } = question
  if (question.from.length === 0 && !question.group) return 'Where did it go?'
  const counting =
    'touched' in counts
      ? 'counting a casting that was touched at all'
      : `counting a casting from ${countsWords(counts)}${'share' in counts ? ' of its metal' : ''} on`
  return `Where did ${fromWords(question)} go, ${counting}, as known ${asOf ?? 'now'}?`
}

function byMass(from: readonly string[]): boolean {
  return from.every((name) => BY_MASS.includes(name.split(':')[0]!))
}
