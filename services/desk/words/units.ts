// The API speaks kilograms and degrees Celsius; a page shows what the plant enters.
import { countWords } from './number.ts'

export type Units = 'kg' | 'lb'

/** Source: International Yard and Pound Agreement of 1959: 1 lb = 0.45359237 kg. */
const KG_PER_LB = 0.453_592_37

const FINE = new Intl.NumberFormat('en', { maximumFractionDigits: 6 })

/** Such as "2,310 kg", three figures kept. */
export function massWords(kg: number, units: Units): string {
  const value = units === 'kg' ? kg : kg / KG_PER_LB
  if (units === 'kg' && kg !== 0 && Math.abs(kg) < 1) return `${figures(kg * 1_000)} g`
  return `${figures(value)} ${units}`
}

/** Such as "1,391 °C". */
export function heatWords(celsius: number, units: Units): string {
  return units === 'kg' ? `${countWords(celsius)} °C` : `${countWords(celsius * 1.8 + 32)} °F`
}

/** Three figures, with thousands set apart. */
export function figures(value: number): string {
  return FINE.format(Number(value.toPrecision(3)))
}
