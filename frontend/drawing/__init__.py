"""The page on which a crew draws a venue's levels: view, what it shows, address."""
