// The words of the sentence that set by what rates are split.
import { html, nothing, type TemplateResult } from 'lit-html'
import type { SplitsQuery } from '../../asks/rates.ts'
import { choice, type Option } from '../../parts/settings.ts'
import { givenBy, has, SPLITS, type Split, STEPS } from './split.ts'

const OWN_METAL = [0.6, 0.7, 0.8, 0.9, 0.95, 0.99]

/** The words of the sentence that set the split. */
export function splitView(split: Split, lots: SplitsQuery['lots'] | undefined): TemplateResult {
  const options = Object.entries(SPLITS).map(([value, words]) => ({ value, words }))
  const given = givenBy(split)
  return html`by ${choice({ name: 'by', label: 'Split by', value: split.by, options })}
    ${choice({
      ...{ name: 'by2', label: 'And by', value: split.by2 },
      options: [
        { value: '', words: 'alone' },
        ...options
          .filter(({ value }) => value !== split.by)
          .map(({ value, words }) => ({ value, words: `and ${words}` })),
      ],
    })}
    ${given ? html`${choice({ name: given.toLowerCase(), label: `Which ${given.toLowerCase()}`, value: split.dosed, options: namesOf(given, lots) })}` : nothing}
    ${has(split, 'MACHINE') ? html`of ${choice({ name: 'step', label: 'Step', value: split.step, options: Object.entries(STEPS).map(([value, words]) => ({ value, words: words! })) })}` : nothing}
    ${
      has(split, 'RECIPE')
        ? html`, counting a pour from ${choice({
            ...{ name: 'own', label: 'Own metal from', value: String(split.ownMetal) },
            options: OWN_METAL.map((own) => ({
              value: String(own),
              words: `${Math.round(own * 100)} in 100`,
            })),
          })} of its own metal on`
        : nothing
    }`
}

function namesOf(given: string, lots: SplitsQuery['lots'] | undefined): Option[] {
  const nodes = lots?.edges.map(({ node }) => node) ?? []
  const metal = nodes.filter(({ role }) => role === 'METALLIC')
  const names =
    given === 'LOT'
      ? metal.map(({ id }) => id)
      : given === 'SUPPLIER'
        ? nodes.flatMap(({ supplier }) => supplier?.name ?? [])
        : metal.flatMap(({ material }) => material ?? [])
  return [...new Set(names)]
    .sort()
    .map((value) => ({ value, words: value.replace(/^lot:/, 'lot ') }))
}
