// Candidates in the words of the trade.
import { momentText } from '../../events/moment.ts'
import type { Candidate, Part } from '../../stats/causes/candidate.ts'
import type { Group, Member } from '../../stats/causes/report.ts'
import { grouped, listed } from '../estimate.ts'
import type { Recorded } from './recorded.ts'

/** Such as bake machine oven-B and zone 2 air temperature at bake below 240 degree Celsius. */
export function nameOf(recorded: readonly Recorded[], { parts }: Pick<Candidate, 'parts'>): string {
  return listed(parts.map((part) => partWords(recorded[part.factor]!, part)))
}

function partWords({ factor, sort, unit }: Recorded, part: Part): string {
  switch (part.is) {
    case 'missing':
      return `${factor.name} not recorded`
    case 'dose':
      return `more of ${factor.name}`
    case 'level': {
      const level = factor.form === 'levels' ? factor.levels[part.level]! : ''
      return sort === 'BATCH' ? level : `${factor.name} ${level}`
    }
    case 'between':
      return sort === 'TIME'
        ? timeWords(factor.name, part)
        : cutWords(factor.name, part, unit ?? '')
  }
}

type Between = Extract<Part, { is: 'between' }>

function timeWords(name: string, { from, until }: Between): string {
  const start = Number.isFinite(from) ? ` from ${momentText(from)}` : ''
  const end = Number.isFinite(until) ? ` until ${momentText(until)}` : ''
  return `${name}${start}${end}`
}

function cutWords(name: string, { from, until }: Between, unit: string): string {
  const cut = Number.isFinite(from) ? from : until
  return `${name} ${Number.isFinite(from) ? 'from' : 'below'} ${Number(cut.toPrecision(4))} ${unit}`.trim()
}

/** The trial that would tell each factor of a group from the first. */
export function trialsOf(recorded: readonly Recorded[], { members }: Group): string[] {
  const [first, ...others] = members
  const name = ({ candidate }: Member) => nameOf(recorded, candidate)
  return others.map(
    (other) =>
      `Make castings with ${name(first!)} and without ${name(other)}, and the other way round, all else alike: ` +
      `so far only ${grouped(other.onlyFirst)} and ${grouped(other.onlyThis)} castings tell them apart.`,
  )
}
