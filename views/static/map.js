// Draws the maps of a page: houses as circles and streets as lines, from the
// script element (application/json) that data-map names. There is no map
// service behind it. The same houses stand in the list beside the map.
"use strict";
(function () {
  // A mark that is told from a circle by its shape alone.
  const Square = L.CircleMarker.extend({
    _updatePath() {
      const p = this._point, r = this._radius;
      this._renderer._setPath(this, "M" + (p.x - r) + "," + (p.y - r) + "h" + 2 * r + "v" + 2 * r + "h" + -2 * r + "z");
    },
  });

  function draw(place) {
    const source = document.getElementById(place.dataset.map);
    if (!source || place.dataset.drawn) return;
    place.dataset.drawn = "true";
    const { houses, streets } = JSON.parse(source.textContent);
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    const map = L.map(place, {
      attributionControl: false, zoomControl: false, scrollWheelZoom: false,
      zoomAnimation: !still, fadeAnimation: !still, markerZoomAnimation: !still, zoomSnap: 0.25, maxZoom: 20,
    });
    L.control.zoom({
      zoomInText: place.dataset.zoomIn, zoomInTitle: place.dataset.zoomIn,
      zoomOutText: place.dataset.zoomOut, zoomOutTitle: place.dataset.zoomOut,
    }).addTo(map);
    L.control.scale({ position: "bottomleft" }).addTo(map);

    const bounds = L.latLngBounds([]);
    for (const street of streets || []) {
      const line = L.polyline(street.map((p) => [p.lat, p.lon]), { className: "street", interactive: false });
      line.addTo(map);
    }
    const walk = houses.filter((h) => h.number);
    if (walk.length > 1) {
      L.polyline(walk.map((h) => [h.lat, h.lon]), { className: "walk", interactive: false }).addTo(map);
    }
    for (const house of houses) bounds.extend([house.lat, house.lon]);
    if (bounds.isValid()) map.fitBounds(bounds, { padding: [28, 28], maxZoom: 18 });
    else map.setView([0, 0], 2);

    for (const house of houses) {
      const Mark = house.square ? Square : L.CircleMarker;
      const circle = new Mark([house.lat, house.lon], { radius: house.square ? 8 : 9, className: "house step-" + house.step, bubblingMouseEvents: false });
      const words = document.createElement("div");
      const name = document.createElement(house.url ? "a" : "strong");
      if (house.url) name.href = house.url;
      name.textContent = (house.number ? house.number + ". " : "") + house.name;
      const said = document.createElement("p");
      said.textContent = house.said;
      words.append(name, said);
      circle.bindPopup(words, { closeButton: false, autoPanPadding: [12, 12] });
      circle.addTo(map);
      if (house.number) {
        const label = document.createElement("span");
        label.textContent = house.number;
        circle.bindTooltip(label, { permanent: true, direction: "top", className: "turn", offset: [0, -6] });
      }
      const shape = circle.getElement();
      shape.setAttribute("tabindex", "0");
      shape.setAttribute("role", "button");
      shape.setAttribute("aria-label", name.textContent + ": " + house.said);
      shape.addEventListener("keydown", (event) => {
        if (event.key === "Enter" || event.key === " ") {
          event.preventDefault();
          circle.openPopup();
        } else if (event.key === "Escape") {
          circle.closePopup();
          shape.focus();
        }
      });
    }
  }
  const drawAll = () => document.querySelectorAll("[data-map]").forEach(draw);
  drawAll();
  document.addEventListener("htmx:after:swap", drawAll);
})();
