// What stations use up. Two words: additions go into metal and their mass travels; materials touch
// castings or molds and leave no mass behind.
import { fact } from './event-type.ts'
import type { FactOf, Ms, Name, Station, Step } from './fact.ts'
import { choice, kg, lines, optional, type Quantity, ref, text } from './field.ts'
import { grams } from './measure.ts'

/** Lots and bins: what materials are drawn from. */
export const STORES = ['lot', 'bin'] as const

const used = {
  of: ref(STORES, 'What it was drawn from.'),
  kg: optional(kg('How much.')),
}

export const scale = optional(
  text('The weighing device; its error is the same in every weighing.', 64),
)

const PURPOSES = ['inoculation', 'slag-coagulation', 'other'] as const

/** Slag coagulation touches only: its mass goes off with the slag. */
export const ladleAdditions = lines(
  { ...used, purpose: optional(choice(PURPOSES, 'What for.')), scale },
  'What was put into the metal of the ladle.',
)

export const heatAdditions = lines(
  {
    ...used,
    purpose: optional(choice(['alloying', 'carburizing', ...PURPOSES] as const, 'What for.')),
    scale,
  },
  'What was put into the bath.',
)

export const materials = optional(
  lines(
    {
      ...used,
      purpose: optional(text('What for, such as oil, shot, parting or carton.', 64)),
      scale,
    },
    'What touched castings or molds.',
  ),
)

interface Use {
  of: Name
  kg?: Quantity
  purpose?: string
}

/** Where and when something touched. */
interface Touch {
  of: Name
  at: Ms
  station: Station
  step?: Step
  pass?: number
}

/** Each use as an exposure of what it touched. */
export function touched(
  touch: Touch,
  uses: readonly Use[] | undefined,
  purpose?: string,
): FactOf<'touched'>[] {
  return (uses ?? []).map((use) =>
    fact('touched', {
      ...touch,
      other: use.of,
      amount: grams(use.kg),
      purpose: use.purpose ?? purpose,
    }),
  )
}

/** Additions told apart: those whose mass stays in the metal, and those that only touch it. */
export function split<U extends Use>(
  additions: readonly U[] | undefined,
): { into: U[]; onto: U[] } {
  const onto = (additions ?? []).filter((use) => use.purpose === 'slag-coagulation')
  return { into: (additions ?? []).filter((use) => !onto.includes(use)), onto }
}
