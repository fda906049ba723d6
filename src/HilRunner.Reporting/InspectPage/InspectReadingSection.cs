using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.InspectPage;

/// <summary>The definitions behind the words, in short.</summary>
internal static class InspectReadingSection
{
    public static void Write(HtmlPage page) => page.Add($"""
        <section aria-labelledby="reading"><h2 id="reading">How to read this</h2>
        <div><dl>
        <dt>Fit</dt><dd>Nothing that was judged speaks against the recording. What could not be judged says so, with its reason; it does not count.</dd>
        <dt>Usable with care</dt><dd>It may be played; whoever reads figures from it must know the finding.</dd>
        <dt>Unfit</dt><dd>It must not be played as it is: the tool refuses to, or what it says about motion is wrong.</dd>
        <dt>At rest</dt><dd>Whole seconds in which no axis deviates by more than 20 mg.</dd>
        <dt>Spectrum</dt><dd>Power spectral density by averaged periodograms (Welch 1967): Hann windows of at least four seconds that overlap by half. The dominant frequency is its peak above 0.4 Hz.</dd>
        <dt>Labels against motion</dt><dd>The median features of a segment against the other segments of its class, in robust deviations (median absolute deviation × 1.4826).</dd>
        <dt>Thresholds</dt><dd>Every number that decides stands, with its reason and source, in the read-me of the inspection's room.</dd>
        </dl></div></section>

        """);
}
