using System.Net;

namespace HilRunner.Reporting;

/// <summary>The report of a suite: verdict first, runs worst first.</summary>
public static class SuiteReport
{
    public static void Write(SuiteResult suite, TextWriter output)
    {
        ArgumentNullException.ThrowIfNull(suite);
        string reason = suite.Reasons.Count > 0 ? suite.Reasons[0] : Words.WithoutReason(suite.Verdict);
        output.Write($"<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>{WebUtility.HtmlEncode(suite.Name)}</title>");
        output.Write($"<h1>{Words.Of(suite.Verdict)}: {WebUtility.HtmlEncode(reason)}</h1></html>");
    }
}
