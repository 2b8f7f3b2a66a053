// What a method of analysis is good for. A value outside is shown and said to be so.
import type { Reading } from './readings.ts'

/**
 * Quantitative range of spark emission on chill-cast gray iron. Unit: percent by mass.
 * Source: scope of ASTM E1999 (editions of 2011, 2018, 2023; read).
 */
const SPARK: Readonly<Record<string, readonly [low: number, high: number]>> = {
  C: [1.9, 3.8],
  Si: [0.15, 2.5],
  Mn: [0.03, 1.8],
  P: [0.005, 0.4],
  S: [0.01, 0.08],
  Cr: [0.025, 2.0],
  Cu: [0.015, 0.75],
  Ni: [0.02, 2.0],
  Mo: [0.01, 1.2],
  Sn: [0.004, 0.14],
  Ti: [0.003, 0.12],
  V: [0.008, 0.22],
}

/**
 * Whether a reading lies outside what its method is good for. Pb, Sb, As, Al, B and N are outside the
 * scope of spark emission whatever they read. Of other methods no range is known here: never outside.
 */
export function outsideMethod(
  method: string | undefined,
  symbol: string,
  { value }: Reading,
): boolean {
  if (method !== 'spark') return false
  const range = SPARK[symbol]
  return !range || value < range[0] || value > range[1]
}
