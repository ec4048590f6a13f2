"use strict";

// Shows the description. Calls that change something carry the session's token against forged requests.
const place = document.getElementById("operations");

SwaggerUIBundle({
  url: place.dataset.description,
  domNode: place,
  presets: [SwaggerUIBundle.presets.apis],
  layout: "BaseLayout",
  deepLinking: true,
  docExpansion: "none",
  defaultModelsExpandDepth: 0,
  // The default would show the description to a service outside.
  validatorUrl: null,
  requestInterceptor: (request) => {
    if (!["GET", "HEAD", undefined].includes(request.method)) {
      request.headers["X-CSRFToken"] = place.dataset.csrfToken;
    }
    return request;
  },
});
