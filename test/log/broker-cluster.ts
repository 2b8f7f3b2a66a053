// One or three Kafka brokers of our own on the loopback, each a process that can be killed, frozen,
// started again and given older disks.
import { type ChildProcess, execFile, spawn } from 'node:child_process'
import { randomBytes } from 'node:crypto'
import { cp, mkdtemp, open, readFile, rm, writeFile } from 'node:fs/promises'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'
import { promisify } from 'node:util'
import { refuses } from './real-broker.ts'

const run = promisify(execFile)

export interface ClusterWish {
  brokers: 1 | 3
  /** Users by name with their passwords: then nobody else is let in, and `admin` may do everything. */
  users?: Readonly<Record<string, string>>
  /** They speak TLS to clients: what certificates are checked against is in Cluster.authority. */
  tls?: boolean
}

const START_MS = 60_000
/** A short life: no time is spent on making the code fast. */
const JAVA = ['-Xms128m', '-Xmx384m', '-XX:+UseSerialGC', '-XX:TieredStopAtLevel=1']

export async function startCluster(lib: string, wish: ClusterWish): Promise<Cluster> {
  const folder = await mkdtemp(join(tmpdir(), 'brokers-'))
  const ids = Array.from({ length: wish.brokers }, (_, i) => i + 1)
  const ports = await freePorts(2 * ids.length)
  const voters = ids.map((id, i) => `${id}@127.0.0.1:${ports[2 * i + 1]}`).join(',')
  const brokers = ids.map((id, i) => {
    return new Broker(lib, folder, id, ports[2 * i]!, ports[2 * i + 1]!, voters, wish)
  })
  const cluster = new Cluster(folder, brokers)
  try {
    if (wish.tls) await makeCertificates(folder)
    const name = randomBytes(16).toString('base64url').replace(/^-/, 'A')
    const [first, ...others] = brokers
    await first!.format(name)
    for (const other of others) await other.formatLike(first!)
    await Promise.all(brokers.map((broker) => broker.start()))
    return cluster
  } catch (error) {
    await cluster.stop()
    throw error
  }
}

export class Cluster {
  readonly #folder: string
  readonly brokers: readonly Broker[]

  constructor(folder: string, brokers: readonly Broker[]) {
    this.#folder = folder
    this.brokers = brokers
  }

  /** A file with the certificate of whoever has signed theirs. */
  get authority(): string {
    return join(this.#folder, 'authority.pem')
  }

  get addresses(): string[] {
    return this.brokers.map(({ address }) => address)
  }

  /** By the number Kafka knows it by. */
  broker(id: number): Broker {
    return this.brokers.find((each) => each.id === id)!
  }

  async stop(): Promise<void> {
    await Promise.all(this.brokers.map((broker) => broker.kill()))
    await rm(this.#folder, { recursive: true, force: true })
  }
}

export class Broker {
  readonly id: number
  readonly address: string
  readonly #lib: string
  readonly #folder: string
  readonly #properties: string
  readonly #users: Readonly<Record<string, string>>
  readonly #text: string
  #process: ChildProcess | undefined

  constructor(
    lib: string,
    folder: string,
    id: number,
    port: number,
    controllerPort: number,
    voters: string,
    wish: ClusterWish,
  ) {
    this.id = id
    this.address = `127.0.0.1:${port}`
    this.#lib = lib
    this.#folder = folder
    this.#properties = join(folder, `b${id}.properties`)
    this.#users = wish.users ? { broker: BROKER_PASSWORD, ...wish.users } : {}
    this.#text = [
      ...common(wish.brokers, voters),
      `node.id=${id}`,
      `listeners=CLIENT://127.0.0.1:${port},CONTROLLER://127.0.0.1:${controllerPort}`,
      `advertised.listeners=CLIENT://127.0.0.1:${port},CONTROLLER://127.0.0.1:${controllerPort}`,
      `log.dirs=${this.#disk}`,
      `listener.security.protocol.map=CLIENT:${protocolOf(wish)},CONTROLLER:${wish.users ? 'SASL_PLAINTEXT' : 'PLAINTEXT'}`,
      ...(wish.users ? WITH_LOGIN : []),
      ...(wish.tls ? withTls(folder) : []),
    ].join('\n')
  }

  get #disk(): string {
    return join(this.#folder, `data${this.id}`)
  }

  async format(name: string): Promise<void> {
    await writeFile(this.#properties, this.#text)
    await writeFile(join(this.#folder, 'log4j2.properties'), QUIET)
    const users = Object.entries(this.#users).flatMap(([user, password]) => [
      '--add-scram',
      `SCRAM-SHA-512=[name=${user},password=${password},iterations=4096]`,
    ])
    await this.#java('kafka.tools.StorageTool', [
      'format',
      ...['-t', name, '-c', this.#properties],
      ...users,
    ])
  }

  /** A copy under its own number: a formatted disk holds nothing else, and Java takes seconds. */
  async formatLike(other: Broker): Promise<void> {
    await writeFile(this.#properties, this.#text)
    await cp(other.#disk, this.#disk, { recursive: true })
    const meta = join(this.#disk, 'meta.properties')
    const text = await readFile(meta, 'utf8')
    const own = text
      .replace(/^node\.id=.*$/m, `node.id=${this.id}`)
      .replace(/^directory\.id=.*$/m, `directory.id=${randomBytes(16).toString('base64url')}`)
    await writeFile(meta, own)
  }

  /** Resolves when it listens. */
  async start(): Promise<void> {
    const log = await open(join(this.#folder, `b${this.id}.log`), 'a')
    const child = spawn('java', this.#arguments('kafka.Kafka', [this.#properties]), {
      stdio: ['ignore', log.fd, log.fd],
    })
    this.#process = child
    await log.close()
    const until = Date.now() + START_MS
    while (await refuses(this.address)) {
      if (child.exitCode !== null || Date.now() > until)
        throw new Error(`Broker ${this.id} does not start: see ${this.#folder}/b${this.id}.log`)
      await pause(50)
    }
  }

  /** Kill -9; resolves when it is gone. */
  async kill(): Promise<void> {
    const child = this.#process
    this.#process = undefined
    if (!child || child.exitCode !== null || child.signalCode !== null) return
    const gone = new Promise((done) => child.once('exit', done))
    child.kill('SIGKILL')
    await gone
  }

  freeze(): void {
    this.#process?.kill('SIGSTOP')
  }

  thaw(): void {
    this.#process?.kill('SIGCONT')
  }

  /** Puts a copy of its disk aside, such as a crash at this moment would leave. */
  async backUp(): Promise<void> {
    await rm(this.#disk + '.old', { recursive: true, force: true })
    await cp(this.#disk, this.#disk + '.old', { recursive: true })
  }

  /** It must not be running. */
  async restore(): Promise<void> {
    await rm(this.#disk, { recursive: true })
    await cp(this.#disk + '.old', this.#disk, { recursive: true })
  }

  #java(main: string, args: string[]) {
    return run('java', this.#arguments(main, args))
  }

  #arguments(main: string, args: string[]): string[] {
    const log = `-Dlog4j2.configurationFile=${join(this.#folder, 'log4j2.properties')}`
    const logs = `-Dkafka.logs.dir=${this.#folder}`
    return [...JAVA, log, logs, '-cp', join(this.#lib, '*'), main, ...args]
  }
}

function common(brokers: number, voters: string): string[] {
  const copies = brokers === 3 ? 3 : 1
  const enough = brokers === 3 ? 2 : 1
  return [
    'process.roles=broker,controller',
    `controller.quorum.voters=${voters}`,
    'controller.listener.names=CONTROLLER',
    'inter.broker.listener.name=CLIENT',
    'auto.create.topics.enable=false',
    `default.replication.factor=${copies}`,
    `min.insync.replicas=${enough}`,
    'offsets.topic.num.partitions=4',
    `offsets.topic.replication.factor=${copies}`,
    'transaction.state.log.num.partitions=1',
    `transaction.state.log.replication.factor=${copies}`,
    `transaction.state.log.min.isr=${enough}`,
    'share.coordinator.state.topic.replication.factor=1',
    'share.coordinator.state.topic.min.isr=1',
    'group.initial.rebalance.delay.ms=0',
    'unclean.leader.election.enable=false',
    'log.retention.ms=-1',
    'num.network.threads=2',
    'num.io.threads=2',
    'broker.heartbeat.interval.ms=500',
    'broker.session.timeout.ms=3000',
    'replica.lag.time.max.ms=3000',
    'controller.quorum.election.timeout.ms=1000',
    'controller.quorum.fetch.timeout.ms=2000',
    'controller.quorum.election.backoff.max.ms=500',
  ]
}

function protocolOf({ users, tls }: ClusterWish): string {
  const transport = tls ? 'SSL' : 'PLAINTEXT'
  return users ? `SASL_${transport}` : transport
}

function withTls(folder: string): string[] {
  return [
    ...['ssl.keystore.type=PEM', `ssl.keystore.location=${join(folder, 'broker.pem')}`],
    ...['ssl.truststore.type=PEM', `ssl.truststore.location=${join(folder, 'authority.pem')}`],
  ]
}

/** An authority of our own, and a certificate that it has signed for the loopback. */
async function makeCertificates(folder: string): Promise<void> {
  const [key, request, signed] = ['key.pem', 'request.pem', 'signed.pem'].map((name) =>
    join(folder, name),
  )
  const [authority, secret] = [join(folder, 'authority.pem'), join(folder, 'authority-key.pem')]
  const subject = (name: string) => ['-subj', `/CN=${name}`, '-nodes', '-newkey', 'rsa:2048']
  await run('openssl', [
    'req',
    '-x509',
    ...subject('Test authority'),
    '-days',
    '2',
    '-keyout',
    secret,
    '-out',
    authority,
  ])
  await run('openssl', ['req', ...subject('Test broker'), '-keyout', key!, '-out', request!])
  const names = join(folder, 'names.txt')
  await writeFile(names, 'subjectAltName=IP:127.0.0.1')
  const by = [
    '-CA',
    authority,
    '-CAkey',
    secret,
    '-CAcreateserial',
    '-extfile',
    names,
    '-days',
    '2',
  ]
  await run('openssl', ['x509', '-req', '-in', request!, '-out', signed!, ...by])
  const parts = await Promise.all([key!, signed!].map((file) => readFile(file, 'utf8')))
  await writeFile(join(folder, 'broker.pem'), parts.join(''))
}

const BROKER_PASSWORD = 'between-brokers'
const SCRAM = 'org.apache.kafka.common.security.scram.ScramLoginModule'
const PLAIN = 'org.apache.kafka.common.security.plain.PlainLoginModule'

/** The controllers cannot use SCRAM, whose users they serve. */
const WITH_LOGIN = [
  'sasl.mechanism.inter.broker.protocol=SCRAM-SHA-512',
  'listener.name.client.sasl.enabled.mechanisms=SCRAM-SHA-512',
  `listener.name.client.scram-sha-512.sasl.jaas.config=${SCRAM} required username="broker" password="${BROKER_PASSWORD}";`,
  'sasl.mechanism.controller.protocol=PLAIN',
  'listener.name.controller.sasl.enabled.mechanisms=PLAIN',
  `listener.name.controller.plain.sasl.jaas.config=${PLAIN} required username="controller" password="between-controllers" user_controller="between-controllers";`,
  'authorizer.class.name=org.apache.kafka.metadata.authorizer.StandardAuthorizer',
  'super.users=User:broker;User:controller;User:admin',
  'allow.everyone.if.no.acl.found=false',
]

const QUIET = `status=warn
appender.c.type=Console
appender.c.name=C
appender.c.layout.type=PatternLayout
appender.c.layout.pattern=%d %p %m (%c)%n
rootLogger.level=warn
rootLogger.appenderRef.c.ref=C
`

/** Below what the system gives to whoever connects: a port stays free while its broker is away. */
const [LEAST_PORT, MOST_PORT] = [12_000, 32_000]

/** Ports that nobody listens at. */
export async function freePorts(count: number): Promise<number[]> {
  const ports = new Set<number>()
  while (ports.size < count) {
    const port = LEAST_PORT + Math.floor(Math.random() * (MOST_PORT - LEAST_PORT))
    if (await isFree(port)) ports.add(port)
  }
  return [...ports]
}

function isFree(port: number): Promise<boolean> {
  return new Promise((done) => {
    const server = createServer()
    server.once('error', () => done(false))
    server.listen(port, '127.0.0.1', () => server.close(() => done(true)))
  })
}
