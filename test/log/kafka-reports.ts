import { decodeEvent, encode } from '../../services/events/envelope.ts'
import type { Entry } from '../../services/log/log.ts'
import { PLANT, tap } from '../stations/said.ts'

const MACHINES = 12
/** Of each tap. */
export const KG = 812.5

/** The report of a number: one tap, of one of twelve furnaces. */
export function reportOf(number: number): Entry {
  const source = `${PLANT}/melt/furnace-${number % MACHINES}`
  const decoded = decodeEvent(tap(number, { source }), { recorded: Date.now() })
  if (!decoded.ok) throw new Error(decoded.reason)
  return { key: source, value: encode(decoded.statement) }
}
