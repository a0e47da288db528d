"""The record that is handed over: what was said, gathered into sheets, written as HTML, PDF, Markdown, CSV or JSON.

    gather.py   the book -> Matter: facts, runs, follow-ups, photos, decisions of a day, a room or the whole job
    sheets.py   Matter -> Document: day sheet, room record, job record
    page.py     the document: sections of text, tables, pictures and drawings, each cell with what it rests on
    html.py, pdf.py, plain_text.py   Document -> bytes

It is a memory of what was said, no certificate. Every statement carries the memo and the time it rests on.
"""
