namespace HilRunner.Reporting.Page;

/// <summary>What stands beside a verdict on the first screen, pass and fail alike.</summary>
internal static class NotesBeside
{
    private const int Most = 4, LongestLead = 80;

    public static void Write(HtmlPage page, IReadOnlyList<string> notes)
    {
        foreach (string note in notes.Take(Most)) { page.Add(Notice(note)); }
        if (notes.Count > Most) { page.Add($"<p class=\"quiet\">and {notes.Count - Most} more notes</p>\n"); }
    }

    /// <summary>What comes before the first colon says what it is about.</summary>
    private static Markup Notice(string note)
    {
        int colon = note.IndexOf(": ", StringComparison.Ordinal);
        return colon is > 0 and < LongestLead
            ? Markup.Of($"<p class=\"notice\"><b>{HtmlPage.Upper(note[..colon])}:</b> {note[(colon + 2)..]}</p>\n")
            : Markup.Of($"<p class=\"notice\">{HtmlPage.Upper(note)}</p>\n");
    }
}
