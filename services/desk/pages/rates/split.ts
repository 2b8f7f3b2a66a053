// By what rates are split, as the address holds it and the house is asked.
import type { RateBy, RatesQueryVariables, Step } from '../../asks/rates.ts'

export interface Split {
  by: RateBy
  /** A second one, or none when empty. */
  by2: RateBy | ''
  /** Of LOT, SUPPLIER or MATERIAL. */
  dosed: string
  step: Step
  /** Share above 0.5 to 1. */
  ownMetal: number
  against: string
  withoutMisfits: boolean
}

export const SPLITS: Record<RateBy, string> = {
  RECIPE: 'recipe revision',
  LOT: 'share of one lot',
  SUPPLIER: 'share of one supplier',
  MATERIAL: 'share of one material',
  FURNACE: 'furnace',
  LINE: 'molding line',
  PATTERN: 'pattern',
  CAVITY: 'cavity',
  PRODUCT: 'product',
  DAY: 'day',
  SHIFT: 'shift',
  MACHINE: 'machine',
}
export const STEPS: Partial<Record<Step, string>> = {
  ...{ TUMBLE: 'tumbling', BLAST: 'blasting', GRIND: 'grinding', WASH: 'washing' },
  ...{ DRY: 'drying', OIL: 'oiling', BAKE: 'baking' },
}
const DOSED = ['LOT', 'SUPPLIER', 'MATERIAL']

export function splitIn(parameters: URLSearchParams): Split {
  const by = parameters.get('by') ?? ''
  const by2 = parameters.get('by2') ?? ''
  const isSplit = (word: string): word is RateBy => Object.hasOwn(SPLITS, word)
  const step = parameters.get('step') ?? ''
  const own = Number(parameters.get('own') ?? Number.NaN)
  const first = isSplit(by) ? by : 'RECIPE'
  return {
    by: first,
    by2: isSplit(by2) && by2 !== first ? by2 : '',
    dosed: DOSED.map((word) => parameters.get(word.toLowerCase())).find(Boolean) ?? '',
    step: Object.hasOwn(STEPS, step) ? (step as Step) : 'BAKE',
    ownMetal: own > 0.5 && own <= 1 ? own : 0.9,
    against: parameters.get('against') ?? '',
    withoutMisfits: parameters.has('fitting'),
  }
}

export function splitParameters(split: Split): Record<string, string> {
  const { by, by2, dosed, step, ownMetal, against, withoutMisfits } = split
  const given = givenBy(split)
  return {
    by,
    ...(by2 && { by2 }),
    ...(given && dosed && { [given.toLowerCase()]: dosed }),
    ...(has(split, 'MACHINE') && { step }),
    ...(has(split, 'RECIPE') && { own: String(ownMetal) }),
    ...(against && { against }),
    ...(withoutMisfits && { fitting: '1' }),
  }
}

/** What the house is asked; undefined while a lot, supplier or material is not named. */
export function splitAsked(split: Split): Omit<RatesQueryVariables, 'about'> | undefined {
  const { by, by2, dosed, step, ownMetal, against, withoutMisfits } = split
  const given = givenBy(split)
  if (given && dosed === '') return undefined
  return {
    by: by2 ? [by, by2] : [by],
    ...(given && { [given.toLowerCase()]: dosed }),
    ...(has(split, 'MACHINE') && { step }),
    ...{ ownMetal, withoutMisfits },
    ...(against && { against }),
  }
}

/** As the form of the sentence says it; of another split the group compared with is none. */
export function splitSaid(said: FormData, before: Split): Split {
  const parameters = new URLSearchParams()
  for (const name of ['by', 'by2', 'step', 'own'])
    if (said.get(name)) parameters.set(name, String(said.get(name)))
  if (before.withoutMisfits) parameters.set('fitting', '1')
  const split = splitIn(parameters)
  const given = givenBy(split)
  const isSame = split.by === before.by && split.by2 === before.by2
  return {
    ...split,
    dosed: given ? String(said.get(given.toLowerCase()) ?? '') : '',
    against: isSame ? before.against : '',
  }
}

export function has({ by, by2 }: Split, word: RateBy): boolean {
  return by === word || by2 === word
}

/** LOT, SUPPLIER or MATERIAL, where it is split by one. */
export function givenBy({ by, by2 }: Split): string | undefined {
  return DOSED.find((word) => by === word || by2 === word)
}
