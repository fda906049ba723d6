using System.Globalization;
using System.Text;
using HilRunner.Inspection;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.InspectPage;

/// <summary>The spectrum of every class that moves, one above the other on a common frequency axis, each scaled to its own peak.</summary>
internal static class SpectrumSvg
{
    private const double Width = 460, Left = 104, Right = 4, Row = 46;

    public static Markup Of(IReadOnlyList<SpectrumPicture> spectra, string name, ClassColours colours)
    {
        double end = spectra.Max(s => s.StepHz * s.Density.Length);
        double X(double hz) => Left + hz / end * (Width - Left - Right);
        var svg = new StringBuilder();
        for (int i = 0; i < spectra.Count; i++) { Draw(svg, spectra[i], colours, i * Row + 4, X); }
        double bottom = spectra.Count * Row + 6;
        foreach (double part in (double[])[0, 0.25, 0.5, 0.75, 1])
        {
            string anchor = part == 0 ? "begin" : part == 1 ? "end" : "";
            svg.Append($"<path class=\"tick\" d=\"M{N(X(part * end))} 2V{N(bottom)}\"/><text class=\"tick-label {anchor}\" x=\"{N(X(part * end))}\" y=\"{N(bottom + 13)}\">{Figure.Decimals(part * end, end < 10 ? 2 : end < 100 ? 1 : 0)}{(part == 1 ? " Hz" : "")}</text>\n");
        }
        string label = "Spectra of the axes: " + string.Join(", ", spectra.Select(s => $"{Name(s)} strongest at {Figure.Decimals(s.PeakHz, 2)} Hz"));
        return new($"""
            <div class="plot"><h3>Spectrum per class</h3><div class="scroll" tabindex="0" role="region" aria-label="{HtmlText.Escape($"Spectrum per class: {name}")}"><svg class="dots" viewBox="0 0 {N(Width)} {N(bottom + 18)}" role="img" aria-label="{HtmlText.Escape(label)}" xmlns="http://www.w3.org/2000/svg">
            {svg}</svg></div>
            <p class="quiet">Root of the density of the three axes added, each class scaled to its own peak.</p></div>

            """);
    }

    private static void Draw(StringBuilder svg, SpectrumPicture s, ClassColours colours, double y, Func<double, double> x)
    {
        const double height = Row - 6;
        double most = Math.Sqrt(s.Density.Max());
        var line = new StringBuilder();
        for (int k = 0; k < s.Density.Length; k++)
        {
            double level = most > 0 ? Math.Sqrt(Math.Max(0, s.Density[k])) / most : 0;
            line.Append(k == 0 ? 'M' : 'L').Append(N(x((k + 1) * s.StepHz))).Append(' ').Append(N(y + height - level * height));
        }
        string name = HtmlText.Visible(Name(s));
        if (name.Length > 15) { name = name[..(char.IsHighSurrogate(name[13]) ? 13 : 14)] + "…"; }
        int colour = colours.IndexOf(s.Class);
        string fill = colour < 0 ? "" : $" fill=\"{ClassColours.At(colour).Hue}\"";
        svg.Append($"<text class=\"label\" x=\"0\" y=\"{N(y + 16)}\">{HtmlText.Escape(name)}</text><text class=\"label small\" x=\"0\" y=\"{N(y + 31)}\">{Figure.Decimals(s.PeakHz, 2)} Hz</text>\n");
        svg.Append($"<path class=\"area\"{fill} d=\"{line}V{N(y + height)}H{N(x(s.StepHz))}Z\"/><path class=\"signal\" d=\"{line}\"/>\n");
    }

    private static string Name(SpectrumPicture s) => s.Class.Length == 0 ? "all" : s.Class;

    private static string N(double v) => v.ToString("0.#", CultureInfo.InvariantCulture);
}
