import type { Kind } from '../events/fact.ts'

/** What the numbers of things stand for. */
export interface Things {
  kind(no: number): Kind
  plant(no: number): string
  /** `kind:id`. */
  name(no: number): string
  numberOf(plant: string, name: string): number | undefined
}
