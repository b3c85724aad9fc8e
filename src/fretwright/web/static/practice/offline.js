/**
 * The service worker: what was opened once stays usable without a connection. The school itself always comes
 * first; what is kept stands in only where it cannot be reached. Nothing under /api/ is ever kept.
 */

const BOOK = "fretwright-book-{version}";
/** What shows one student's own practice; forgotten when somebody signs out. */
const OWN = "fretwright-own-{version}";
const PATIENCE_MS = 4000;

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));

worker.addEventListener("install", () => void worker.skipWaiting());

worker.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      const kept = await caches.keys();
      const old = kept.filter((name) => name.startsWith("fretwright-") && name !== BOOK && name !== OWN);
      await Promise.all(old.map((name) => caches.delete(name)));
      await worker.clients.claim();
    })(),
  );
});

worker.addEventListener("message", (event) => {
  /** @type {string[]} */
  const addresses = event.data?.keep ?? [];
  event.waitUntil(Promise.all(addresses.map((address) => keep(address))));
});

worker.addEventListener("fetch", (event) => {
  const { request } = event;
  const { pathname, origin } = new URL(request.url);
  if (request.method === "POST" && pathname === "/sign-out") {
    event.waitUntil(caches.delete(OWN));
    return;
  }
  if (request.method !== "GET" || origin !== location.origin || request.headers.has("range")) return;
  if (shelfOf(pathname)) event.respondWith(answer(request));
});

/**
 * @param {string} pathname
 * @returns {string | null} where an answer is kept; null where it is not
 */
function shelfOf(pathname) {
  if (/^\/(course|static)\//.test(pathname)) return BOOK;
  if (/^\/practice\/(desks|takes)\//.test(pathname) || /^\/(today|progress)$/.test(pathname)) return OWN;
  return null;
}

/**
 * @param {Request} request
 * @returns {Promise<Response>} the school's own, or what was kept of it
 */
async function answer(request) {
  const kept = await caches.match(request, { ignoreVary: true });
  try {
    const fetched = fetch(request).then(async (response) => {
      await put(request, response);
      return response;
    });
    if (!kept) return await fetched;
    return await Promise.race([fetched, late()]);
  } catch (error) {
    if (kept) return kept;
    throw error;
  }
}

/** @returns {Promise<never>} */
function late() {
  return new Promise((_, reject) => setTimeout(() => reject(new Error("late")), PATIENCE_MS));
}

/** @param {string} address */
async function keep(address) {
  if (await caches.match(address)) return;
  const request = new Request(address, { credentials: "same-origin" });
  if (!shelfOf(new URL(address).pathname)) return;
  await put(request, await fetch(request)).catch(() => {});
}

/**
 * @param {Request} request
 * @param {Response} response
 */
async function put(request, response) {
  const shelf = shelfOf(new URL(request.url).pathname);
  if (!shelf || response.status !== 200 || response.redirected || response.type !== "basic") return;
  const cache = await caches.open(shelf);
  await cache.put(request, response.clone());
}
