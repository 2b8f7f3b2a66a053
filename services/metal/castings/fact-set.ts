import type { Fact } from '../../events/fact.ts'
import { digest } from '../digest.ts'
import { listed } from '../kept.ts'

/** Facts that are taken in, found again by identity, else by value. */
export class FactSet {
  readonly #byThing = new Map<number, Fact<number>[]>()

  add(fact: Fact<number>): void {
    listed(this.#byThing, fact.of).push(fact)
  }

  /** Takes a fact out; the one that was taken in, undefined when none was. */
  strike(fact: Fact<number>): Fact<number> | undefined {
    const list = listed(this.#byThing, fact.of)
    let place = list.indexOf(fact)
    if (place < 0) place = list.findIndex((one) => one.what === fact.what && alike(one, fact))
    return place < 0 ? undefined : list.splice(place, 1)[0]
  }
}

/** Text of a value, whatever the order of its fields. */
export function canonical(value: object): string {
  return JSON.stringify(value, (_, part: unknown) =>
    part !== null && typeof part === 'object' && !Array.isArray(part)
      ? Object.fromEntries(Object.entries(part).sort(([a], [b]) => (a < b ? -1 : 1)))
      : part,
  )
}

/** Tells facts of one moment apart whatever arrived first. Of 32 bits, with a sign. */
export function tieOf(text: string): number {
  return digest(text) | 0
}

function alike(a: Fact<number>, b: Fact<number>): boolean {
  return canonical(a) === canonical(b)
}
