// What a door has taken in lately, to tell a repeat from news. Bounded: an older repeat slips through
// and does no harm, because the merge drops it.

/** Keys remembered, the newest: about 50 MB of them. */
export const RECENT_KEYS = 200_000
/** Contents remembered of one key. */
const CONTENTS = 8
const HASH_LENGTH = 64

export class Recent {
  /** Of each key the hashes of its contents, one behind the other. */
  readonly #hashes = new Map<string, string>()

  has(key: string): boolean {
    return this.#hashes.has(key)
  }

  said(key: string, hash: string): boolean {
    return this.#hashes.get(key)?.includes(hash) ?? false
  }

  add(key: string, hash: string): void {
    const before = this.#hashes.get(key) ?? ''
    this.#hashes.delete(key)
    this.#hashes.set(key, (before + hash).slice(-CONTENTS * HASH_LENGTH))
    if (this.#hashes.size <= RECENT_KEYS) return
    const oldest = this.#hashes.keys().next().value
    if (oldest !== undefined) this.#hashes.delete(oldest)
  }

  remove(key: string, hash: string): void {
    const rest = this.#hashes.get(key)?.replace(hash, '')
    if (rest) this.#hashes.set(key, rest)
    else this.#hashes.delete(key)
  }
}
