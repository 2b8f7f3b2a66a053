// Readers of one group share the partitions among them: who has which, and how far each has been taken.
import type { LogRecord } from '../log.ts'
import type { LogError } from '../log-error.ts'

/** What is followed: one partition as its readers see it. */
export interface Readable {
  readonly topic: string
  readonly partition: number
  readonly first: bigint
  readonly next: bigint
  read(from: bigint, most: number): Promise<LogRecord[]>
}

/** One reader of a group, on its way. */
export interface Member {
  /** Something was appended, or partitions are shared anew. */
  wake(): void
  /** More has been taken, or will not be. */
  checkSettled(): void
  stop(): Promise<void>
}

/** The readers of one group: who has which partition, and how far each has been taken. */
export class Group {
  readonly #partitions: readonly Readable[]
  readonly #members: Member[] = []
  readonly #holder = new Map<Readable, Member>()
  readonly #taken = new Map<Readable, bigint>()
  /** Partitions that nobody reads any more, and why. */
  readonly #stopped = new Map<Readable, LogError>()

  constructor(partitions: readonly Readable[]) {
    this.#partitions = partitions
  }

  join(member: Member): void {
    this.#members.push(member)
    this.wake()
  }

  leave(member: Member): void {
    this.#members.splice(this.#members.indexOf(member), 1)
    for (const [partition, holder] of this.#holder) {
      if (holder !== member) continue
      this.#holder.delete(partition)
      // Whoever comes next may begin elsewhere.
      this.#taken.delete(partition)
      this.#stopped.delete(partition)
    }
    this.wake()
  }

  wake(): void {
    for (const member of this.#members) member.wake()
  }

  /** The partitions that are this member's by right; it may have to wait until another lets go. */
  share(member: Member): Readable[] {
    const place = this.#members.indexOf(member)
    return this.#partitions.filter((_, i) => i % this.#members.length === place)
  }

  claim(partition: Readable, member: Member): boolean {
    if (this.#holder.has(partition)) return false
    this.#holder.set(partition, member)
    return true
  }

  release(partition: Readable): void {
    this.#holder.delete(partition)
    this.wake()
  }

  taken(partition: Readable, next: bigint): void {
    this.#taken.set(partition, next)
    for (const member of this.#members) member.checkSettled()
  }

  /** Stays with its holder, so that nobody else comes to the same end. */
  stopped(partition: Readable, reason: LogError): void {
    this.#stopped.set(partition, reason)
    for (const member of this.#members) member.checkSettled()
  }

  /** Where every partition that holds anything ends now. */
  ends(): Map<Readable, bigint> {
    const filled = this.#partitions.filter(({ first, next }) => next > first)
    return new Map(filled.map((partition) => [partition, partition.next]))
  }

  /** Whether all of it has been taken; or why some of it will not be. */
  reached(ends: Map<Readable, bigint>): boolean | LogError {
    const left = [...ends].filter(([partition, end]) => (this.#taken.get(partition) ?? -1n) < end)
    for (const [partition] of left) {
      const reason = this.#stopped.get(partition)
      if (reason) return reason
    }
    return left.length === 0
  }

  async stop(): Promise<void> {
    await Promise.all(this.#members.slice().map((member) => member.stop()))
  }
}
