"""The schematic: how each service is drawn, where everything lies, and the drawing as SVG."""
