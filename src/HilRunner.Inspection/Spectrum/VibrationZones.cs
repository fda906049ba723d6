namespace HilRunner.Inspection.Spectrum;

/// <summary>
/// Zone limits of velocity severity, mm/s rms from 10 to 1000 Hz, of ISO 10816-1:1995, Annex B (informative; replaced by ISO 20816-1:2016, whose
/// later parts have the limits for kinds of machines). The values are those that two public pages agree in. The classes are not the groups of ISO 10816-3.
/// </summary>
internal static class VibrationZones
{
    private static readonly (string Class, double Ab, double Bc, double Cd)[] s_classes = [("I", 0.71, 1.8, 4.5), ("II", 1.12, 2.8, 7.1), ("III", 1.8, 4.5, 11.2), ("IV", 2.8, 7.1, 18)];

    /// <summary>"I D, II C, III B, IV B": machine class and zone.</summary>
    public static string Of(double mmPerS) => string.Join(", ", s_classes.Select(c => $"{c.Class} {Zone(mmPerS, c.Ab, c.Bc, c.Cd)}"));

    private static char Zone(double v, double ab, double bc, double cd) => v <= ab ? 'A' : v <= bc ? 'B' : v <= cd ? 'C' : 'D';
}
