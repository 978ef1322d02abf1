// The service worker: shows pages that come by push, and opens their link.
// It keeps nothing and answers no requests: an old board is worse than none.

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("push", (event) => {
  let page = {};
  try {
    page = event.data ? event.data.json() : {};
  } catch {
    page = { title: "Wetside", text: "A page came that could not be read. Look at the board." };
  }
  event.waitUntil(show(page));
});

// The next page on the same matter takes the place of the one before, and
// rings again; a copy of a page that stands there already does not.
async function show(page) {
  const tag = page.topic || page.id || undefined;
  const there = tag ? await self.registration.getNotifications({ tag }) : [];
  const copy = there.some((n) => n.data?.id === page.id);
  const late = page.until > 0 && Date.now() >= page.until;
  await self.registration.showNotification(page.title || "Wetside", {
    body: (late && page.after) || page.text || "Look at the board.",
    tag,
    renotify: tag !== undefined && !copy,
    icon: "/mark.svg",
    data: { id: page.id, link: page.link || "/" },
    requireInteraction: page.priority === "urgent",
    vibrate: page.priority === "urgent" ? [400, 150, 400, 150, 400] : [200],
  });
}

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  // Always on this very site, under whatever name the phone reaches it by.
  const link = new URL(event.notification.data?.link || "/", self.location.origin);
  event.waitUntil(self.clients.openWindow(new URL(link.pathname, self.location.origin).href));
});
