// The dock: shipments to customers, packs broken up or relabelled, what comes back, what is counted.
import { HOUR, MINUTE } from './clock.ts'
import { CUSTOMERS } from './names.ts'
import type { Pack, Packing } from './packing.ts'
import { draw, type Random } from './random.ts'
import type { Given, Station } from './report.ts'
import type { Totes } from './totes.ts'
import type { World } from './world.ts'

/** Packs that are never sold out. */
const KEPT = 24

export class Shipping {
  /** What left, for those who complain later. */
  readonly shipped: { pack: Pack; customer: string }[] = []
  readonly #world: World
  readonly #packing: Packing
  readonly #totes: Totes
  readonly #random: Random
  readonly #dock: Station
  readonly #shelf: Station

  constructor(world: World, packing: Packing, totes: Totes) {
    this.#world = world
    this.#packing = packing
    this.#totes = totes
    this.#random = world.random('shipping')
    this.#dock = world.post.station('ship/dock', { entry: 'scan', delaySeconds: [20, 300] })
    this.#shelf = world.post.station('ship/stock', { entry: 'hand', delaySeconds: [60, 1200] })
  }

  start(): void {
    const { clock, days } = this.#world
    for (let day = 0; day < days; day++) {
      const opening = this.#world.opening(day)
      for (const hour of [4.5, 7, 9, 11, 13, 15, 17]) {
        clock.at(opening + (hour + this.#random.between(0, 0.7)) * HOUR, () => this.#ship())
      }
      clock.at(opening + 8 * HOUR, () => this.#breakUp('break-bulk'))
      clock.at(opening + 13 * HOUR, () => this.#breakUp('relabel'))
      if (day > 0) clock.at(opening + 5 * HOUR, () => this.#takeBack())
    }
    clock.at(this.#world.closing(days - 1) + 3 * HOUR, () => this.#count())
  }

  #ship(): void {
    const { stock } = this.#packing
    const { truth } = this.#world
    const count = Math.min(this.#random.whole(14, 32), stock.length - KEPT)
    if (count < 3) return
    const shipment = this.#world.id('SHP', '', 2)
    const customer = this.#random.pick(CUSTOMERS)
    const lines: Given[] = []
    for (let i = 0; i < count; i++) {
      // Mostly the oldest, but what stands in front goes first.
      const [pack] = stock.splice(this.#random.whole(0, Math.min(stock.length - 1, 7)), 1)
      const castings = pack!.lines.reduce((sum, line) => sum + line.castings.length, 0)
      lines.push({ pack: pack!.pack, castings })
      Object.assign(truth.packs.get(pack!.pack)!, { shipment, customer })
      this.shipped.push({ pack: pack!, customer })
    }
    this.#dock.say('ship.packs-shipped.v1', 'shipment:' + shipment, { shipment, customer, lines })
  }

  /** Part of a pack becomes one of its own, or all of it gets another label. */
  #breakUp(reason: 'break-bulk' | 'relabel'): void {
    const { stock } = this.#packing
    const { truth } = this.#world
    const at = stock.findIndex((pack) => pack.lines.length === 1 && !pack.marks[0]!.startsWith('G'))
    const old = stock[at]
    if (!old) return
    const line = old.lines[0]!
    const pack = this.#world.id('PK')
    const whole = reason === 'relabel'
    const castings = draw(this.#random, line.castings, whole ? line.castings.length : 24)
    const marks = whole ? [...old.marks, `Q-${this.#world.day()}`] : [...old.marks]
    truth.castings.put(castings, 'pack:' + pack)
    truth.packs.set(pack, { pack, marks })
    const made: Pack = { pack, marks, lines: [{ product: line.product, castings }] }
    if (whole || line.castings.length === 0) stock.splice(at, 1, made)
    else stock.push(made)
    this.#shelf.say('ship.packs-repacked.v1', 'pack:' + pack, {
      outOf: [{ pack: old.pack, castings: castings.length }],
      into: [{ pack, marks, product: line.product, castings: castings.length }],
      reason,
    })
  }

  /** A customer sends back a few, still in the carton of their pack. */
  #takeBack(): void {
    const from = this.shipped.find(({ pack }) => pack.lines.length === 1)
    if (!from) return
    const { pack, customer } = from
    const line = pack.lines[0]!
    const castings = line.castings.splice(0, 4)
    this.#world.truth.castings.put(castings, 'tote:TQ1')
    const returned = this.#world.id('RT', '', 2)
    this.#dock.say('ship.castings-returned.v1', 'return:' + returned, {
      return: returned,
      customer,
      lines: [
        { pack: pack.pack, mark: pack.marks[0]!, product: line.product, castings: castings.length },
      ],
      into: 'tote:TQ1',
      reason: 'carton torn on the way',
    })
  }

  /** The last night some of the stock is counted. */
  #count(): void {
    const count = (of: string, castings: number) =>
      this.#shelf.say(
        'ship.stock-counted.v1',
        of,
        { of, castings },
        { timespread: 30 * (MINUTE / 1000) },
      )
    for (const { pack, lines } of this.#packing.stock.slice(0, 10)) {
      count(
        'pack:' + pack,
        lines.reduce((sum, line) => sum + line.castings.length, 0),
      )
    }
    for (const { tote, castings } of this.#totes.standing()) count('tote:' + tote, castings)
  }
}
