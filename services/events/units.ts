// Units as stations may enter them, by their UN/CEFACT Recommendation 20 code, and the one unit each
// measure is kept in. Converted once, at the door; what was entered stays as entered.
//
// Sources: codes and names, UN/CEFACT Recommendation 20 Revision 17e. Exact factors: the international
// yard and pound agreement of 1959 (1 lb = 0.45359237 kg; 1 in = 25.4 mm) and, for pound-force, the
// standard acceleration of free fall 9.80665 m/s² (3rd General Conference on Weights and Measures,
// 1901). Fahrenheit: °C = (°F − 32) × 5/9. The rest are decimal prefixes and definitions.

export type Measure =
  | 'mass'
  | 'count'
  | 'temperature'
  | 'pressure'
  | 'time'
  | 'share'
  | 'energy'
  | 'voltage'
  | 'length'

export interface Unit {
  name: string
  measure: Measure
  /** In the unit the measure is reckoned in: (value + shift) × times / per. */
  times: number
  per: number
  shift: number
}

const POUND_KG = 0.45359237

export const UNITS: ReadonlyMap<string, Unit> = new Map([
  unit('KGM', 'kilogram', 'mass', 1),
  unit('GRM', 'gram', 'mass', 1, 1000),
  unit('MGM', 'milligram', 'mass', 1, 1_000_000),
  unit('TNE', 'tonne', 'mass', 1000),
  unit('LBR', 'pound', 'mass', POUND_KG),
  unit('ONZ', 'ounce', 'mass', POUND_KG, 16),
  unit('STN', 'short ton, 2,000 lb', 'mass', 2000 * POUND_KG),
  unit('LTN', 'long ton, 2,240 lb', 'mass', 2240 * POUND_KG),
  unit('C62', 'one', 'count', 1),
  unit('EA', 'each', 'count', 1),
  unit('H87', 'piece', 'count', 1),
  unit('DZN', 'dozen', 'count', 12),
  unit('GRO', 'gross', 'count', 144),
  unit('CEL', 'degree Celsius', 'temperature', 1),
  unit('FAH', 'degree Fahrenheit', 'temperature', 5, 9, -32),
  unit('KEL', 'kelvin', 'temperature', 1, 1, -273.15),
  unit('KPA', 'kilopascal', 'pressure', 1),
  unit('PAL', 'pascal', 'pressure', 1, 1000),
  unit('MPA', 'megapascal', 'pressure', 1000),
  unit('BAR', 'bar', 'pressure', 100),
  unit('PS', 'pound-force per square inch', 'pressure', (POUND_KG * 9.80665) / 0.0254 ** 2, 1000),
  // Recommendation 20 says PS; floors write PSI, which it gives to nothing else.
  unit('PSI', 'pound-force per square inch', 'pressure', (POUND_KG * 9.80665) / 0.0254 ** 2, 1000),
  unit('MIN', 'minute', 'time', 1),
  unit('SEC', 'second', 'time', 1, 60),
  unit('HUR', 'hour', 'time', 60),
  unit('DAY', 'day', 'time', 1440),
  unit('P1', 'percent', 'share', 1),
  unit('60', 'percent of mass', 'share', 1),
  unit('59', 'part per million', 'share', 1, 10_000),
  unit('KWH', 'kilowatt hour', 'energy', 1),
  unit('MWH', 'megawatt hour', 'energy', 1000),
  unit('3B', 'megajoule', 'energy', 1, 3.6),
  unit('KVT', 'kilovolt', 'voltage', 1),
  unit('VLT', 'volt', 'voltage', 1, 1000),
  unit('MMT', 'millimetre', 'length', 1),
  unit('4H', 'micrometre', 'length', 1, 1000),
  unit('MTR', 'metre', 'length', 1000),
  unit('INH', 'inch', 'length', 25.4),
])

/** The unit each measure is kept in, by code. */
export const KEPT: Record<Measure, string> = {
  mass: 'KGM',
  count: 'C62',
  temperature: 'CEL',
  pressure: 'KPA',
  time: 'MIN',
  share: 'P1',
  energy: 'KWH',
  voltage: 'KVT',
  length: 'MMT',
}

/** Codes of one measure, the kept one first. */
export function codesOf(measure: Measure): string[] {
  return [...UNITS].filter(([, unit]) => unit.measure === measure).map(([code]) => code)
}

/** A reading in the unit its measure is kept in. Throws on a code that is not in UNITS. */
export function keptOf<Q extends { value: number; spread?: number; repeat?: number }>(
  reading: Q,
  code: string,
): { measure: Measure; value: Q } {
  const from = UNITS.get(code)
  if (!from) throw new Error(`${code} is not a known unit`)
  const to = UNITS.get(KEPT[from.measure])!
  const value = { ...reading, value: convert(reading.value, from, to) }
  if (value.spread !== undefined) value.spread = convertSpread(value.spread, from, to)
  if (value.repeat !== undefined) value.repeat = convertSpread(value.repeat, from, to)
  return { measure: from.measure, value }
}

/** A value in another unit of the same measure. */
export function convert(value: number, from: Unit, to: Unit): number {
  if (from === to) return value
  return ((value + from.shift) * (from.times * to.per)) / (from.per * to.times) - to.shift
}

/** A difference (a standard deviation) in another unit of the same measure. */
export function convertSpread(spread: number, from: Unit, to: Unit): number {
  if (from === to) return spread
  return (spread * (from.times * to.per)) / (from.per * to.times)
}

function unit(
  code: string,
  name: string,
  measure: Measure,
  times: number,
  per = 1,
  shift = 0,
): [string, Unit] {
  return [code, { name, measure, times, per, shift }]
}
