"""The page: one panel a file. Only this part of the package imports Streamlit."""
