using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage;

/// <summary>The definitions behind the figures, in short.</summary>
internal static class ReadingSection
{
    public static void Write(HtmlPage page, StoredRun run)
    {
        string within = run.Rules.WithinNs is { } w ? $"and the reaction is no longer than {Figure.Nanoseconds(w)}" : "in it";
        string grace = run.Rules.GraceNs > 0 ? $"the first {Figure.Nanoseconds(run.Rules.GraceNs)}" : "nothing (this scenario sets no grace)";
        string early = run.Rules.EarlyNs > 0
            ? $" An event may be reported up to {Figure.Nanoseconds(run.Rules.EarlyNs)} before its start." : "";
        page.Add($"""
            <section aria-labelledby="reading"><h2 id="reading">How to read this</h2>
            <div><dl>
            <dt>Verdict</dt><dd>Pass: the rig was healthy and every limit held. Fail: the rig was healthy and a limit is broken. Inconclusive: the rig broke its own limits, or a limit could not be judged; bad stimulus proves nothing about the device. Error: the tool or a file failed. (Order as in ETSI ES 201 873-1.)</dd>
            <dt>Delivery</dt><dd>Whether every sample reached the device and every message of it the host. Delivered: a complete count proves it. Not delivered: a count, a gap or too many unanswered questions disprove it; then the run is inconclusive, never the device's fault. Not shown: neither. Not needed: nothing was sent.</dd>
            <dt>Trial</dt><dd>One interval of the reference, played once. Recognised: the right class shows {within}. An interval too short to be recognised in time and not recognised does not count.{early}</dd>
            <dt>Decision latency: reaction, settling</dt><dd>From the start of the interval to the first moment at which the right class shows, and to the moment from which it shows to the end. Time of the stimulus, not of the clock on the wall: link and host have no part in it.</dd>
            <dt>Report latency</dt><dd>From the moment the onset's sample was sent to the arrival of the message's first byte, on the host's clock. Never mixed with reaction.</dd>
            <dt>Device clock</dt><dd>Compared by questions and answers (as in RFC 5905): the true offset lies within half of a round trip, however the delay is split between the two ways. The bound is what all round trips together leave open.</dd>
            <dt>Dropouts, chatter</dt><dd>How often the right class is left again within the interval, and all changes of the output after it first showed.</dd>
            <dt>Agreement</dt><dd>Seconds, not counts: how long the output showed which class while the reference was another. Strict leaves out nothing; graced leaves out {grace} of each interval.</dd>
            <dt>Segments</dt><dd>Deleted: never shown. Fragmented: shown in pieces. Merged: shown as one with its neighbour. Inserted: shown where nothing was. Overfill and underfill: too long or too short at an end (Ward, Lukowicz, Gellersen 2011).</dd>
            <dt>Numbers</dt><dd>After ± stands the half-width that holds the truth, with two significant digits; the value has as many decimals (JCGM 100). A dash is a figure that is not defined, never 0; its reason stands with it.</dd>
            <dt>Colours</dt><dd>Fixed per class by its order in the rig file; chosen to be told apart by colour-blind readers (Okabe and Ito 2008).</dd>
            </dl></div></section>

            """);
    }
}
