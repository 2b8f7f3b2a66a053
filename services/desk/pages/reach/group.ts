// What is followed and is no thing: what went through a machine, was measured outside its limits, or had a factor.
import type { DefectQuestion, FactorOf, MachineWindow, MeasureOutside } from '../../asks/reach.ts'
import { momentWords } from '../../words/moment.ts'
import { plain } from '../../words/plain.ts'
import { figures } from '../../words/units.ts'

export type Group = { machine: MachineWindow } | { measure: MeasureOutside } | { factor: FactorOf }

/** As an address holds it; undefined where it holds none, or half of one. */
export function groupIn(parameters: URLSearchParams): Group | undefined {
  const text = (name: string) => parameters.get(name)?.trim() || undefined
  const [machine, quantity, factor, stage] = ['machine', 'quantity', 'factor', 'stage'].map(text)
  const [from, to] = ['begin', 'end'].map((name) => momentIn(text(name)))
  if (!from || !to) return undefined
  const window = { from, to }
  if (factor && stage) {
    const about = { stage, product: text('product') ?? null, window }
    const defects = text('defect') ? [text('defect')!] : null
    return { factor: { about: { ...about, defects }, name: factor } }
  }
  if (quantity) {
    const limit = (name: string) => (text(name) === undefined ? null : Number(text(name)))
    const of = { quantity, window, machine: machine ?? null }
    return { measure: { of, lowest: limit('lowest'), highest: limit('highest') } }
  }
  return machine ? { machine: { machine, window } } : undefined
}

export function groupParameters(group: Group): Record<string, string> {
  if ('machine' in group) {
    const { machine, window } = group.machine
    return { machine, ...windowParameters(window) }
  }
  if ('measure' in group) {
    const { of, lowest, highest } = group.measure
    return {
      quantity: of.quantity,
      ...(of.machine && { machine: of.machine }),
      ...(typeof lowest === 'number' && { lowest: String(lowest) }),
      ...(typeof highest === 'number' && { highest: String(highest) }),
      ...windowParameters(of.window),
    }
  }
  const { about, name } = group.factor
  return { factor: name, ...aboutParameters(about) }
}

function aboutParameters({ stage, defects, product, window }: DefectQuestion) {
  return {
    stage,
    ...(defects?.[0] && { defect: defects[0] }),
    ...(product && { product }),
    ...windowParameters(window),
  }
}

/** "what had oven 2, looked at after-bake from Monday 2 March 06:00 to …". */
export function groupWords(group: Group): string {
  if ('machine' in group)
    return `what went through ${group.machine.machine}, ${windowWords(group.machine.window)}`
  if ('factor' in group) {
    const { about, name } = group.factor
    return `what had ${plain(name)}, looked at ${about.stage} ${windowWords(about.window)}`
  }
  const { of, lowest, highest } = group.measure
  const at = of.machine ? ` at ${of.machine}` : ''
  return `what had its ${of.quantity}${at} ${limitsWords(lowest, highest)}, ${windowWords(of.window)}`
}

function limitsWords(lowest?: number | null, highest?: number | null): string {
  const [low, high] = [lowest, highest].map((limit) =>
    typeof limit === 'number' ? figures(limit) : undefined,
  )
  if (low && high) return `outside ${low} to ${high}`
  if (low) return `below ${low}`
  return high ? `above ${high}` : 'outside its limits'
}

interface Window {
  from: string
  to: string
}

function windowWords({ from, to }: Window): string {
  return `${momentWords(from)} to ${momentWords(to)}`
}

function windowParameters({ from, to }: Window): { begin: string; end: string } {
  return { begin: from, end: to }
}

/** A field of a form has no offset: it is the reader's clock. */
function momentIn(text: string | undefined): string | undefined {
  const ms = Date.parse(text ?? '')
  return Number.isNaN(ms) ? undefined : new Date(ms).toISOString()
}
