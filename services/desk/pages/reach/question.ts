// What a reach is asked from, as a person writes it and as an address holds it.
import type { ReachQueryVariables } from '../../asks/reach.ts'
import { shareWords } from '../../words/number.ts'
import { thingWords } from '../../words/standing.ts'

export interface ReachQuestion {
  /** `kind:number`; what else is written is a mark. */
  from: string[]
  machine: { machine: string; from: string; to: string } | undefined
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
  const machine = parameters.get('machine')
  const from = fromWritten(parameters.getAll('from').join(', '))
  const share = Number(parameters.get('share') ?? Number.NaN)
  const isTouched = parameters.has('touched') || (!byMass(from) && !parameters.has('share'))
  return {
    from,
    machine: machine
      ? { machine, from: parameters.get('begin') ?? '', to: parameters.get('end') ?? '' }
      : undefined,
    share: isTouched ? undefined : share > 0 && share <= 1 ? share : USUAL_SHARE,
    asOf: parameters.get('asOf') ?? undefined,
  }
}

export function parametersOf({ from, machine, share, asOf }: ReachQuestion): URLSearchParams {
  const parameters = new URLSearchParams()
  for (const id of from) parameters.append('from', id)
  if (machine) {
    parameters.set('machine', machine.machine)
    parameters.set('begin', machine.from)
    parameters.set('end', machine.to)
  }
  if (share === undefined) parameters.set('touched', '1')
  else parameters.set('share', String(share))
  if (asOf) parameters.set('asOf', asOf)
  return parameters
}

export function variablesOf({ from, machine, share, asOf }: ReachQuestion): ReachQueryVariables {
  const isThings = from.every((name) => KINDS.includes(name.split(':')[0]!) && name.includes(':'))
  return {
    from: machine
      ? { machine: { machine: machine.machine, window: { from: machine.from, to: machine.to } } }
      : isThings
        ? { things: from }
        : { marks: from },
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

export function fromWords({ from, machine }: ReachQuestion): string {
  if (machine) return `${machine.machine}, ${machine.from} to ${machine.to}`
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
  if (question.from.length === 0 && !question.machine) return 'Where did it go?'
  const counting =
    share === undefined
      ? 'counting a casting that was touched at all'
      : `counting a casting from ${shareWords(share)} of its metal on`
  return `Where did ${fromWords(question)} go, ${counting}, as known ${asOf ?? 'now'}?`
}

function byMass(from: readonly string[]): boolean {
  return from.every((name) => BY_MASS.includes(name.split(':')[0]!))
}
