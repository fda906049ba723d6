namespace HilRunner.Reporting.Page;

/// <summary>What every report says whose device was on a table.</summary>
internal static class TableCaution
{
    public static void Write(HtmlPage page) => page.Add($"<p class=\"notice\"><b>A table moves mass, pinches, is loud and can throw what is on it; devices hold lithium cells.</b> Software is no safety function: a hard-wired emergency stop (ISO 13850), guards and distances (ISO 13857), ears protected, hands off, and a competent person belong to it, as local codes say.</p>\n");
}
