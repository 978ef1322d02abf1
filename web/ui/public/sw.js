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
  event.waitUntil(
    self.registration.showNotification(page.title || "Wetside", {
      body: page.text || "Look at the board.",
      tag: page.id || undefined, // a copy of the same page shows once
      icon: "/mark.svg",
      data: { link: page.link || "/" },
      requireInteraction: page.priority === "urgent",
      vibrate: page.priority === "urgent" ? [400, 150, 400, 150, 400] : [200],
    }),
  );
});

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  // Always on this very site, under whatever name the phone reaches it by.
  const link = new URL(event.notification.data?.link || "/", self.location.origin);
  event.waitUntil(self.clients.openWindow(new URL(link.pathname, self.location.origin).href));
});
