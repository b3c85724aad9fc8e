/** Keeps this lesson on the device, with every sound of its ladders, for when there is no connection. */

/**
 * Ask the service worker to fetch and keep all that the page needs.
 * @returns {Promise<void>}
 */
export async function keepOffline() {
  if (!("serviceWorker" in navigator)) return;
  try {
    await navigator.serviceWorker.register("/offline.js");
    const { active } = await navigator.serviceWorker.ready;
    active?.postMessage({ keep: needed() });
  } catch {
    // Without a worker the lesson works as long as there is a connection.
  }
}

/** @returns {string[]} addresses of the page, of what it loaded, and of what it may yet load */
function needed() {
  const addresses = new Set([location.href.split("#")[0]]);
  for (const entry of performance.getEntriesByType("resource")) addresses.add(entry.name);
  for (const element of document.querySelectorAll("script[src], link[rel=stylesheet]")) {
    addresses.add(element instanceof HTMLScriptElement ? element.src : /** @type {HTMLLinkElement} */ (element).href);
  }
  if (!savesData()) {
    for (const data of document.querySelectorAll("[data-for-player]")) {
      /** @type {{script: string}[]} */
      const rungs = JSON.parse(data.textContent ?? "{}").rungs ?? [];
      for (const { script } of rungs) addresses.add(new URL(script, location.href).href);
    }
  }
  return [...addresses].filter((address) => new URL(address).origin === location.origin);
}

/** @returns {boolean} whether the student asked the browser to be sparing */
function savesData() {
  const connection = /** @type {{saveData?: boolean} | undefined} */ (Reflect.get(navigator, "connection"));
  return Boolean(connection?.saveData);
}
