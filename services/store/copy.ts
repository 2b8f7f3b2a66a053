// COPY of rows that are ready as text, over the driver's own connection. All of it goes out at once,
// behind the statement it belongs to, and is not held back until the server asks for it: where a server
// refuses the statement it passes over the rows, as the protocol says; and the embedded database takes
// them in no other way.

/** The driver's connection takes a COPY in three messages, the embedded one as a whole. */
interface CopyingConnection {
  query(text: string): void
  sendCopyFromChunk(chunk: Buffer): void
  endCopyFrom(): void
  copyIn?(text: string, rows: Buffer): void
}

/** A client or a pool of the driver. */
interface Copying {
  query(copy: CopyIn): unknown
}

/** Throws what the database throws; then none of the rows are in. */
export async function copyIn(database: Copying, text: string, rows: Buffer): Promise<void> {
  const copy = new CopyIn(text, rows)
  // A pool waits for it here, since it has to take its client back.
  await database.query(copy)
  await copy.ended
}

/** What is sent, and what hears the answers to it, as the driver wants that of a query. */
export class CopyIn {
  readonly text: string
  readonly ended: Promise<void>
  /** Set by a pool. */
  callback: ((error?: Error) => void) | undefined
  readonly #rows: Buffer
  readonly #settle: PromiseWithResolvers<void>

  constructor(text: string, rows: Buffer) {
    this.text = text
    this.#rows = rows
    this.#settle = Promise.withResolvers()
    this.ended = this.#settle.promise
    // Where a pool throws it, nobody waits for it here.
    this.ended.catch(() => undefined)
  }

  submit(connection: object): void {
    const copying = connection as CopyingConnection
    if (copying.copyIn) copying.copyIn(this.text, this.#rows)
    else {
      copying.query(this.text)
      copying.sendCopyFromChunk(this.#rows)
      copying.endCopyFrom()
    }
  }

  handleCopyInResponse(): void {}

  handleCommandComplete(): void {}

  handleError(error: Error): void {
    this.#settle.reject(error)
    this.callback?.(error)
  }

  handleReadyForQuery(): void {
    this.#settle.resolve()
    this.callback?.()
  }
}

/** The statement, its rows and their end, each as the protocol frames it. */
export function copyMessages(text: string, rows: Buffer): Buffer {
  return Buffer.concat([
    ...message('Q', Buffer.from(`${text}\0`)),
    ...message('d', rows),
    ...message('c', Buffer.alloc(0)),
  ])
}

function message(sort: string, body: Buffer): [head: Buffer, body: Buffer] {
  const head = Buffer.alloc(5)
  head.write(sort)
  head.writeInt32BE(body.length + 4, 1)
  return [head, body]
}
