// Draws the OpenAPI document of this host. What is tried out goes with the session and its CSRF token.
"use strict";
document.addEventListener("DOMContentLoaded", () => {
  const box = document.getElementById("api-docs");
  window.SwaggerUIBundle({
    url: box.dataset.schema,
    domNode: box,
    deepLinking: true,
    validatorUrl: null,
    docExpansion: "none",
    requestInterceptor: (request) => {
      if (!["GET", "HEAD", "OPTIONS"].includes((request.method || "GET").toUpperCase())) {
        request.headers["X-CSRFToken"] = box.dataset.csrf;
      }
      return request;
    },
  });
});
