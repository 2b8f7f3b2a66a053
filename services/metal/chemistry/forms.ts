// Figures that metallurgists work out from an analysis. Several forms of one figure are in use and
// differ in the second decimal, so each goes by its name, with its domain and where it is published.
import { percentOf, type Readings } from './readings.ts'

export interface Form {
  /** Tells it from other forms of the same figure. */
  name: string
  quantity: string
  formula: string
  /** UN/CEFACT Recommendation 20: P1 percent by mass, C62 a ratio, CEL °C, MPA megapascal. */
  unit: string
  /** Elements without which it cannot be worked out; others count as none. */
  needs: readonly string[]
  domain: string
  source: string
  /** `percent` gives 0 for an element that is not needed and was not read. */
  work(percent: (symbol: string) => number): number
  /** Whether an analysis lies in the domain. */
  fits(percent: (symbol: string) => number): boolean
}

export interface Worked {
  form: Form
  value: number
  /** False where the form is not good for this analysis: the value is to be doubted. */
  inDomain: boolean
}

const always = () => true
const GRAY = 'gray and white cast iron'
const HAND_LEXICON = 'Giesserei-Lexikon, Kohlenstoffäquivalent, eq. 1 to 3 (read)'
const PATTERSON = 'W. Patterson, G. Schenck, F. Neumann 1966, eq. 19a (read)'
const PRAXIS = 'Giesserei-Praxis, Sättigungsgrad and normal tensile strength (read)'
const KORIYAMA =
  'Koriyama, Kanno, Iwami, Kang 2020, International Journal of Metalcasting, abstract (read)'
const MANGANESE = 'manganese–sulfur balance rule, eq. 4 of a reprinted foundry article (read)'

export const CARBON_EQUIVALENT: Form = {
  name: 'CE (Si + P)/3',
  quantity: 'carbon equivalent',
  formula: 'C + (Si + P)/3',
  unit: 'P1',
  needs: ['C', 'Si', 'P'],
  domain: GRAY,
  source: HAND_LEXICON,
  work: (percent) => percent('C') + (percent('Si') + percent('P')) / 3,
  fits: always,
}

export const CARBON_EQUIVALENT_SHORT: Form = {
  name: 'CE Si/3',
  quantity: 'carbon equivalent',
  formula: 'C + Si/3',
  unit: 'P1',
  needs: ['C', 'Si'],
  domain: 'where phosphorus is low',
  source: KORIYAMA,
  work: (percent) => percent('C') + percent('Si') / 3,
  // Common practice, no source: over a tenth of a percent phosphorus counts.
  fits: (percent) => percent('P') <= 0.1,
}

export const CARBON_EQUIVALENT_FULL: Form = {
  name: 'CE Patterson–Schenck–Neumann',
  quantity: 'carbon equivalent',
  formula: 'C + 0.31 Si + 0.33 P − 0.028 Mn + 0.4 S',
  unit: 'P1',
  needs: ['C', 'Si', 'Mn', 'P', 'S'],
  domain: GRAY,
  source: PATTERSON,
  work: (percent) =>
    percent('C') +
    0.31 * percent('Si') +
    0.33 * percent('P') -
    0.028 * percent('Mn') +
    0.4 * percent('S'),
  fits: always,
}

export const SATURATION: Form = {
  name: 'Sc 4.26',
  quantity: 'degree of saturation',
  formula: 'C / (4.26 − 0.31 Si − 0.27 P)',
  unit: 'C62',
  needs: ['C', 'Si', 'P'],
  domain: GRAY,
  source: PRAXIS,
  work: (percent) => percent('C') / (4.26 - 0.31 * percent('Si') - 0.27 * percent('P')),
  fits: always,
}

export const SATURATION_LEXICON: Form = {
  name: 'Sc 4.3',
  quantity: 'degree of saturation',
  formula: 'C / (4.3 − (Si + P)/3)',
  unit: 'C62',
  needs: ['C', 'Si', 'P'],
  domain: GRAY,
  source: HAND_LEXICON,
  work: (percent) => percent('C') / (4.3 - (percent('Si') + percent('P')) / 3),
  fits: always,
}

export const TENSILE_30_MM: Form = {
  name: 'Rm 30 mm bar',
  quantity: 'normal tensile strength',
  formula: '1000 − 800 Sc (Sc 4.26)',
  unit: 'MPA',
  needs: ['C', 'Si', 'P'],
  domain: 'a 30 mm bar cast by itself, Sc up to 1; not the wall of a pan, which chill governs',
  source: PRAXIS,
  work: (percent) => 1000 - 800 * SATURATION.work(percent),
  fits: (percent) => SATURATION.work(percent) <= 1,
}

export const MANGANESE_NEEDED: Form = {
  name: 'Mn for S, rule',
  quantity: 'manganese needed for sulfur',
  formula: '1.7 S + 0.3',
  unit: 'P1',
  needs: ['S'],
  domain: 'an indicator, never a limit: a surplus of 0.3 gives least strength and chill (Fuller)',
  source: MANGANESE,
  work: (percent) => 1.7 * percent('S') + 0.3,
  // Read in an abstract of Balkan and Riposan: under 0.04 % thin walls want sulfur, not manganese.
  fits: (percent) => percent('S') >= 0.04,
}

export const MANGANESE_BOUND: Form = {
  name: 'Mn bound by S',
  quantity: 'manganese bound by sulfur',
  formula: '1.7 S',
  unit: 'P1',
  needs: ['S'],
  domain: 'all sulfur bound as MnS; atomic masses give 54.938/32.06 = 1.7136',
  source: MANGANESE,
  work: (percent) => 1.7 * percent('S'),
  fits: always,
}

/** Beyond it austenite no longer forms first by composition alone. */
const NEARLY_EUTECTIC = 0.98

export const AUSTENITE_LIQUIDUS: Form = {
  name: 'austenite liquidus by composition',
  quantity: 'liquidus',
  formula: '1625 − 110 C − 25 Si + 3 Mn − 35 P − 71 S − 2 Ni − 7 Cr',
  unit: 'CEL',
  needs: ['C', 'Si', 'Mn', 'P', 'S'],
  domain: 'Sc under 0.98; fitted to cups that solidify white',
  source: KORIYAMA,
  work: (percent) =>
    1625 -
    110 * percent('C') -
    25 * percent('Si') +
    3 * percent('Mn') -
    35 * percent('P') -
    71 * percent('S') -
    2 * percent('Ni') -
    7 * percent('Cr'),
  fits: (percent) => SATURATION.work(percent) < NEARLY_EUTECTIC,
}

export const STABLE_EUTECTIC: Form = {
  name: 'stable eutectic',
  quantity: 'liquidus',
  formula: '1153 + 6.7 Si',
  unit: 'CEL',
  needs: ['Si'],
  domain: 'Sc up to 1; over it graphite forms above the eutectic',
  source: 'handbook, from memory',
  work: (percent) => 1153 + 6.7 * percent('Si'),
  fits: (percent) => percent('C') === 0 || SATURATION.work(percent) <= 1,
}

/** In the order they are shown. */
export const FORMS: readonly Form[] = [
  CARBON_EQUIVALENT,
  CARBON_EQUIVALENT_SHORT,
  CARBON_EQUIVALENT_FULL,
  SATURATION,
  SATURATION_LEXICON,
  TENSILE_30_MM,
  MANGANESE_NEEDED,
  MANGANESE_BOUND,
  AUSTENITE_LIQUIDUS,
  STABLE_EUTECTIC,
]

/** A figure of an analysis; undefined where an element it needs was not read, or only as a limit. */
export function work(form: Form, readings: Readings): Worked | undefined {
  for (const symbol of form.needs) if (percentOf(readings, symbol) === undefined) return undefined
  const percent = (symbol: string) => percentOf(readings, symbol) ?? 0
  return { form, value: form.work(percent), inDomain: form.fits(percent) }
}

/** What a pouring temperature is held against, and by which form it was found. */
export interface Freezing {
  celsius: number
  by: string
  inDomain: boolean
}

/**
 * Where this iron begins to freeze: the higher of austenite liquidus and stable eutectic. A liquidus
 * that was read stands before one by composition, which holds for Sc under 0.98 only. Undefined where
 * neither can be told. Unit: °C.
 */
export function freezing(readings: Readings, readCelsius?: number): Freezing | undefined {
  const eutectic = work(STABLE_EUTECTIC, readings)
  const worked = work(AUSTENITE_LIQUIDUS, readings)
  const lines: Freezing[] = []
  if (readCelsius !== undefined)
    lines.push({ celsius: readCelsius, by: 'liquidus read from the cooling curve', inDomain: true })
  else if (worked?.inDomain)
    lines.push({ celsius: worked.value, by: worked.form.name, inDomain: true })
  if (eutectic)
    lines.push({
      celsius: eutectic.value,
      by: eutectic.form.name,
      // Without the austenite line only iron at or past it is known to freeze from the eutectic.
      inDomain: eutectic.inDomain && (lines.length > 0 || worked !== undefined),
    })
  return lines.sort((a, b) => b.celsius - a.celsius)[0]
}

/** Pouring temperature over where the iron begins to freeze. Unit: K. */
export function superheat(
  pouredCelsius: number,
  readings: Readings,
  readCelsius?: number,
): (Freezing & { kelvin: number }) | undefined {
  const from = freezing(readings, readCelsius)
  return from && { ...from, kelvin: pouredCelsius - from.celsius }
}
