/**
 * Takes that wait on this device until they have arrived: in IndexedDB, so that a closed page, a flat battery or
 * a tunnel loses nothing.
 */

/**
 * One take that is not received yet.
 * @typedef {object} WaitingTake
 * @property {string} clientId  made here; sending it twice is not two takes
 * @property {number} personId  whose it is: another student on this device never sends it
 * @property {string} exercise  lesson/exercise
 * @property {string} title  of the exercise
 * @property {number} bpm
 * @property {string} mediaType
 * @property {string} recordedAt  ISO 8601
 * @property {number | null} latencyMs  of the device, if it was measured
 * @property {number | null} beatS  where in the recording the first beat of the music was due, if there was a count
 * @property {Blob} sound
 * @property {string} [refused]  why the server will not have it; it stays here for the student to decide
 */

const NAME = "fretwright-takes";
const STORE = "waiting";

/** @returns {string} 128 random bits; also where a page has no secure origin and no UUIDs */
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** @returns {Promise<IDBDatabase>} */
function open() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => request.result.createObjectStore(STORE, { keyPath: "clientId" });
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/**
 * @template Result
 * @param {IDBTransactionMode} mode
 * @param {(store: IDBObjectStore) => IDBRequest<Result>} ask
 * @returns {Promise<Result>} once it is safe on disk
 */
async function within(mode, ask) {
  const database = await open();
  try {
    return await new Promise((resolve, reject) => {
      const transaction = database.transaction(STORE, mode, { durability: "strict" });
      const request = ask(transaction.objectStore(STORE));
      transaction.oncomplete = () => resolve(request.result);
      transaction.onabort = transaction.onerror = () => reject(transaction.error ?? request.error);
    });
  } finally {
    database.close();
  }
}

/** @param {WaitingTake} take */
export async function keep(take) {
  await within("readwrite", (store) => store.put(take));
}

/** @param {string} clientId */
export async function forget(clientId) {
  await within("readwrite", (store) => store.delete(clientId));
}

/**
 * @param {number} personId
 * @returns {Promise<WaitingTake[]>} the oldest first
 */
export async function waiting(personId) {
  /** @type {WaitingTake[]} */
  const takes = await within("readonly", (store) => store.getAll());
  const own = takes.filter((take) => take.personId === personId);
  return own.sort((one, other) => one.recordedAt.localeCompare(other.recordedAt));
}
