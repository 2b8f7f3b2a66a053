// What a reach is asked from, as a person writes it and as an address holds it.
import type { ReachQueryVariables } from '../../asks/reach.ts'
import { shareWords } from '../../words/number.ts'
import { thingWords } from '../../words/standing.ts'
import { type Group, groupIn, groupParameters, groupWords } from './group.ts'

export interface ReachQuestion {
  /** `kind:number`; what else is written is a mark. */
  from: string[]
  /** In place of things. */
  group: Group | undefined
  /** Any of it at all counts when there is none. */
  share: number | undefined
  /** Now when there is none. */
  asOf: string | undefined
}

/** Somebody who asks without saying counts from 1 in 1,000 on. */
const USUAL_SHARE = 0.001

const BY_MASS = ['lot', 'bin', 'charge', 'furnace', 'heat', 'ladle', 'pour']
const KINDS = [...BY_MASS, 'sand', 'molds', 'load', 'tote', 'pack', 'pan', 'shipment']

export function questionOf(parameters: URLSearchParams): ReachQuestion {
  const group = groupIn(parameters)
  const from = fromWritten(parameters.getAll('from').join(', '))
  const share = Number(parameters.get('share') ?? Number.NaN)
  const isTouched =
    group !== undefined || parameters.has('touched') || (!byMass(from) && !parameters.has('share'))
  return {
    ...{ from, group },
    share: isTouched ? undefined : share > 0 && share <= 1 ? share : USUAL_SHARE,
    asOf: parameters.get('asOf') ?? undefined,
  }
}

export function parametersOf({ from, group, share, asOf }: ReachQuestion): URLSearchParams {
  const parameters = new URLSearchParams(group && groupParameters(group))
  for (const id of from) parameters.append('from', id)
  if (share === undefined) parameters.set('touched', '1')
  else parameters.set('share', String(share))
  if (asOf) parameters.set('asOf', asOf)
  return parameters
}

export function variablesOf({ from, group, share, asOf }: ReachQuestion): ReachQueryVariables {
  const isThings = from.every((name) => KINDS.includes(name.split(':')[0]!) && name.includes(':'))
  return {
    from: group ?? (isThings ? { things: from } : { marks: from }),
    affected: share === undefined ? { touched: true } : { share },
    asOf: asOf ?? null,
  }
}

/** "lot SB-3400, heat F1-2213" as ids; what names no kind stays as it is. */
export function fromWritten(text: string): string[] {
  return text
    .split(/[,;]/)
    .map((name) => name.trim().replace(/\s+/g, ' '))
    .filter((name) => name !== '')
    .map((name) => {
      const [, kind = '', number = ''] = /^(\w+)[ :](.+)$/.exec(name) ?? []
      return KINDS.includes(kind.toLowerCase()) ? `${kind.toLowerCase()}:${number}` : name
    })
}

export function fromWords({ from, group }: ReachQuestion): string {
  if (group) return groupWords(group)
  return from.map((name) => (name.includes(':') ? thingWords(name) : name)).join(', ')
}

/** "1 in 1,000", "0.1 %" or "0.001" as a share; undefined for what is none. */
export function shareWritten(text: string): number | undefined {
  const plain = text.replaceAll(',', '').trim()
  const ratio = /^([\d.]+)\s*(?:in|of|\/)\s*([\d.]+)$/.exec(plain)
  const percent = /^([\d.]+)\s*%$/.exec(plain)
  const share = ratio
    ? Number(ratio[1]) / Number(ratio[2])
    : percent
      ? Number(percent[1]) / 100
      : plain === ''
        ? Number.NaN
        : Number(plain)
  return share > 0 && share <= 1 ? share : undefined
}

export function titleOf(question: ReachQuestion): string {
  const { share, asOf } = question
  if (question.from.length === 0 && !question.group) return 'Where did it go?'
  const counting =
    share === undefined
      ? 'counting a casting that was touched at all'
      : `counting a casting from ${shareWords(share)} of its metal on`
  return `Where did ${fromWords(question)} go, ${counting}, as known ${asOf ?? 'now'}?`
}

function byMass(from: readonly string[]): boolean {
  return from.every((name) => BY_MASS.includes(name.split(':')[0]!))
}
