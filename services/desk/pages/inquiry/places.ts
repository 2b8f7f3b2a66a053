// Where a mark sits, for one who asks without any.
import type { TemplateResult } from 'lit-html'
import { markPlaces } from '../../drawings/mark-places.ts'
import { drawn } from '../../parts/figure.ts'

/** Unit: px. */
const WIDTH = 520

export function placesView(): TemplateResult {
  return drawn(markPlaces(WIDTH))
}
