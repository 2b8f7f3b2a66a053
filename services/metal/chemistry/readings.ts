// Elements as read: a value, or only that it lies under or over what the method could tell.

export interface Reading {
  /** The value, or the limit it lies below or above. Unit: percent by mass. */
  value: number
  /** One standard deviation. Unit: percent by mass. */
  spread?: number
  bound?: 'below' | 'above'
}

/** By chemical symbol. */
export type Readings = Readonly<Record<string, Reading | undefined>>

/** Value of an element; undefined where it was not measured or only a limit is known. Unit: percent. */
export function percentOf(readings: Readings, symbol: string): number | undefined {
  const reading = readings[symbol]
  return reading && !reading.bound ? reading.value : undefined
}
