// Analyses as the answers show them: elements with their limits, and the figures worked out of them.
import type { Chemistry } from '../../events/field.ts'
import {
  CARBON_EQUIVALENT,
  FORMS,
  type Form,
  SATURATION,
  type Worked,
  work,
} from '../../metal/chemistry/forms.ts'
import { outsideMethod } from '../../metal/chemistry/method.ts'
import { superheatOf } from '../../metal/chemistry/pour-superheat.ts'
import type { Reading } from '../../metal/chemistry/readings.ts'
import type { Context } from '../context.ts'
import { type Estimate, plain } from '../estimate.ts'
import { boundsOf, estimate } from './amounts.ts'
import type { Known } from './thing.ts'

/** The GraphQL object Chemistry; null when nothing was found out. */
export function chemistryOf(chemistry: Chemistry | undefined, method?: string): object | null {
  const elements = Object.entries(chemistry ?? {})
  if (elements.length === 0) return null
  return {
    elements: elements.map(([symbol, reading]) => ({
      symbol,
      percent: estimate(reading),
      ...boundsOf(reading),
      outsideMethod: outsideMethod(method, symbol, reading as Reading),
    })),
    carbonEquivalentPercent: formValue(CARBON_EQUIVALENT, chemistry!),
    saturation: formValue(SATURATION, chemistry!),
    figures: FORMS.flatMap((form) => {
      const worked = work(form, chemistry!)
      return worked ? [figure(worked)] : []
    }),
  }
}

function formValue(form: Form, chemistry: Chemistry): Estimate | null {
  const worked = work(form, chemistry)
  return worked ? plain(worked.value) : null
}

/** The GraphQL object Figure. */
function figure({ form, value, inDomain }: Worked): object {
  const { name, quantity, formula, unit, domain, source } = form
  return { name, quantity, formula, value: plain(value), unit, inDomain, domain, source }
}

/** The GraphQL object Superheat of a pour; null where no sample or temperature tells it. */
export async function superheat(context: Context, { no, asOf }: Known): Promise<object | null> {
  if (no === undefined) return null
  const { view } = (await context.snapshot()).at(asOf)
  const found = superheatOf(view, no)
  if (!found) return null
  const { kelvin, celsius, by, inDomain, sampled } = found
  return {
    kelvin: plain(kelvin),
    freezingCelsius: plain(celsius),
    by,
    inDomain,
    sampled: () => context.things.one(sampled, asOf),
  }
}
