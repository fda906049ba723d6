using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.SuitePage;

/// <summary>What the words of a suite's report mean, in short.</summary>
internal static class SuiteReadingSection
{
    public static void Write(HtmlPage page, SuiteResult suite)
    {
        page.Add($"""
        <section aria-labelledby="reading"><h2 id="reading">How to read this</h2>
        <div><dl>
        <dt>Verdict</dt><dd>The worst of the runs that count and of the limits over all trials: pass, then inconclusive, then fail, and error above all (order as in ETSI ES 201 873-1).</dd>
        <dt>Deciding figure</dt><dd>The limit that broke; where none did, an open one; else the one that came nearest to its bound.</dd>
        <dt>Delivery not shown</dt><dd>Nothing proves that every sample reached the device and every message of it the host, and nothing disproves it. The run's own report says what would.</dd>
        <dt>Played again</dt><dd>The rig was at fault, so the run was repeated. It stays in the record and counts for nothing.</dd>
        <dt>Numbers</dt><dd>A dash is a figure that is not defined, never 0; its reason stands with it.</dd>
        </dl>

        """);
        if (suite.Runs.Any(r => r.OnTable)) { TableCaution.Write(page); }
        page.Add($"""
        <p class="notice"><b>Injected motion can make a device act.</b> Disconnect radio, alarm and actuator, or make sure that their action does no harm, before the next suite.</p></div></section>

        """);
    }
}
