/** What lies in a vessel in layers, each with the share of it that is followed; taken from one end. */
export class Pile {
  readonly #from: 'first' | 'last'
  readonly #layers: { amount: number; share: number }[] = []

  constructor(from: 'first' | 'last') {
    this.#from = from
  }

  put(amount: number, share: number): void {
    if (amount <= 0) return
    const top = this.#layers.at(-1)
    if (top?.share === share) top.amount += amount
    else this.#layers.push({ amount, share })
  }

  /** Gives how much of what is taken is followed. */
  take(amount: number): number {
    let [left, followed] = [amount, 0]
    while (left > 0) {
      const layer = this.#from === 'first' ? this.#layers[0] : this.#layers.at(-1)
      if (!layer) break
      const taken = Math.min(left, layer.amount)
      left -= taken
      followed += taken * layer.share
      layer.amount -= taken
      if (layer.amount > 0) break
      if (this.#from === 'first') this.#layers.shift()
      else this.#layers.pop()
    }
    return followed
  }

  /** Each layer is so many times as much. */
  stretch(times: number): void {
    for (const layer of this.#layers) layer.amount *= times
  }
}
