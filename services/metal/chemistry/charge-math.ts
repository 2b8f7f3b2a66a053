// A charge worked out before it is melted: what it will hold, and what an addition or a dilution takes.

/** One line of a charge. */
export interface ChargePart {
  kg: number
  /** Unit: percent by mass. */
  percent: Readonly<Record<string, number>>
}

/** What melting does to an element: part that is lost, and points picked up. */
export interface Melting {
  /** Unit: part of what was charged, 0 to 1. */
  lost?: number
  /** Unit: percent by mass, added. */
  pickedUp?: number
}

/**
 * What a charge comes to when melted: by element Σ kg·% / Σ kg, less what is lost, with what is picked
 * up. An element that a part does not name is none of it. Unit: percent by mass.
 */
export function chargeBalance(
  parts: readonly ChargePart[],
  melting: Readonly<Record<string, Melting>> = {},
): Record<string, number> {
  const kg = parts.reduce((sum, part) => sum + part.kg, 0)
  const symbols = new Set(parts.flatMap(({ percent }) => Object.keys(percent)))
  const melted: Record<string, number> = {}
  for (const symbol of symbols) {
    const charged = parts.reduce((sum, part) => sum + part.kg * (part.percent[symbol] ?? 0), 0) / kg
    const { lost = 0, pickedUp = 0 } = melting[symbol] ?? {}
    melted[symbol] = charged * (1 - lost) + pickedUp
  }
  return melted
}

interface Step {
  bathKg: number
  /** Unit: percent by mass. */
  now: number
  wanted: number
}

/** The element an addition brings, and how much of it the bath takes up. */
interface Alloy {
  percent: number
  /** Unit: part, 0 to 1. */
  recovery: number
}

/** Kg of an alloy for a step, the mass it adds itself left out. */
export function addition({ bathKg, now, wanted }: Step, { percent, recovery }: Alloy): number {
  return (bathKg * (wanted - now)) / (percent * recovery)
}

/** The same with the mass it adds itself: what is weighed out where additions are large. */
export function additionDiluted(
  { bathKg, now, wanted }: Step,
  { percent, recovery }: Alloy,
): number {
  return (bathKg * (wanted - now)) / (percent * recovery - wanted)
}

/** Kg of metal low in an element that brings a bath down. */
export function dilution({ bathKg, now, wanted }: Step, diluentPercent: number): number {
  return (bathKg * (now - wanted)) / (wanted - diluentPercent)
}
