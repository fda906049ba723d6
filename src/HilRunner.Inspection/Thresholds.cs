using System.Globalization;
using System.Text;

namespace HilRunner.Inspection;

/// <summary>A number that decides whether something is a finding.</summary>
/// <param name="Unit">As the figure that is held against it.</param>
/// <param name="Reason">Why this number.</param>
/// <param name="Source">Where it comes from; "convention" where it is this project's choice.</param>
public sealed record Threshold(string Name, double Value, string Unit, string Reason, string Source);

/// <summary>All numbers that decide, in one place. The table in this room's README is made from them, and a test holds both together.</summary>
public static class Thresholds
{
    public static readonly Threshold StillDeviation = new("still: deviation of every axis over a second", 0.02, "g",
        "quiet hands and pockets stay below 10 mg, the slowest walking is above 50 mg", "measured on the open recordings");
    public static readonly Threshold StillWindow = new("still: window", 1, "s", "long against one step of a person, short against a pause", "convention");
    public static readonly Threshold StillLeast = new("still: least windows for a figure", 3, "windows", "a median of fewer is a single moment", "convention");

    public static readonly Threshold JitterCare = new("jitter, with care", 0.05, "of a step",
        "at a quarter of the sample rate a time error of 5 % of a step is an amplitude error of 2π·0.25·0.05 = 8 %", "arithmetic");
    public static readonly Threshold JitterUnfit = new("jitter, unfit", 0.15, "of a step", "the same error is 24 %", "arithmetic");
    public static readonly Threshold DriftCare = new("clock against stated rate, with care", 100, "ppm",
        "two ordinary crystals differ by up to 100 ppm; more is a wrong rate or an RC oscillator", "data sheets of crystals, from memory");
    public static readonly Threshold DriftUnfit = new("clock against stated rate, unfit", 200, "ppm",
        "beyond half a step plus this share of the time the strict reader refuses the recording", "Core/Recordings/SampleTimes");
    public static readonly Threshold StepUneven = new("uneven step", 0.5, "of a step", "beyond this the strict reader refuses the recording", "Core/Recordings/SampleTimes");

    public static readonly Threshold ClippedRail = new("clipping: distance from full scale", 0.004, "of full scale",
        "a rail of a signed number is one count short: 1/256 of full scale at 9 bits", "arithmetic");
    public static readonly Threshold ClippedWidth = new("clipping: width of the rail below the extreme", 0.001, "of full scale",
        "the last count or two: calibration after the converter moves them apart", "convention");
    public static readonly Threshold ClippedLeast = new("clipping: samples at a full scale that nobody stated", 3, "samples",
        "a peak meets the same extreme twice by chance, hardly three times", "convention");
    public static readonly Threshold ClippedUnfit = new("clipping, unfit", 0.01, "of the samples of a class", "one in a hundred: the peaks that tell classes apart are gone", "convention");
    public static readonly Threshold ZeroRows = new("rows of zeros", 3, "rows", "no axis feels exactly nothing: not even in free fall on all three at once, three times running", "physics");
    public static readonly Threshold FrozenTime = new("all axes frozen", 0.5, "s", "no sensor whose noise reaches one step repeats itself that long", "convention");
    public static readonly Threshold StuckAxisTime = new("one axis stuck while another moves", 1, "s", "a second of motion with not one step in an axis", "convention");
    public static readonly Threshold StuckAxisMotion = new("one axis stuck: deviation of the axis that moves", 0.05, "g", "motion that no axis of a rigid body escapes by accident", "convention");
    public static readonly Threshold StuckUnfit = new("frozen, unfit", 0.05, "of the recording", "more than an accident at the start", "convention");

    public static readonly Threshold QuantisationCare = new("quantisation step, with care", 0.02, "g", "coarser than the motion that parts still from not still", "as still");
    public static readonly Threshold QuantisationUnfit = new("quantisation step, unfit", 0.1, "g", "a step of 6° of tilt", "arithmetic: arcsin 0.1");
    public static readonly Threshold NoiseCare = new("noise floor, with care", 0.015, "g", "three quarters of what counts as still", "convention");
    public static readonly Threshold NoiseWhite = new("noise floor: least ratio of step noise to deviation", 0.7, "",
        "1 for white noise, 0.54 for a tone at an eighth of the rate: below, the quietest moment moves", "arithmetic: √2·sin(πf/r)");

    public static readonly Threshold GravityCare = new("|a| at rest off 1 g, with care", 0.02, "g", "local gravity varies by 0.3 %; an uncalibrated sensor is off by up to some 40 mg an axis", "open recordings: up to 4 %");
    public static readonly Threshold GravityUnfit = new("|a| at rest off 1 g, unfit", 0.1, "g", "no calibration is as bad: a wrong unit, range or axis", "convention");
    public static readonly Threshold AxisCare = new("offset or scale of an axis, with care", 0.03, "g", "tilts a horizontal axis by 1.7°", "arithmetic: arcsin 0.03");
    public static readonly Threshold AxisUnfit = new("offset or scale of an axis, unfit", 0.1, "g", "as |a| at rest", "convention");
    public static readonly Threshold AxisVertical = new("axis counts as vertical: least share of |a|", 0.95, "", "within 18°", "arithmetic: arccos 0.95");
    public static readonly Threshold UpAxis = new("axis counts as up: least share of |a|", 0.8, "", "within 37°; further the device is tilted between axes", "arithmetic: arccos 0.8");
    public static readonly Threshold GyroCare = new("turning rate at rest, with care", 3, "°/s", "drifts a heading by a right angle in half a minute", "arithmetic");
    public static readonly Threshold GyroUnfit = new("turning rate at rest, unfit", 30, "°/s", "no offset is as large: a wrong unit, or no gyro", "convention");

    public static readonly Threshold ReferenceMisfit = new("against a reference: least misfit of the axes as they are", 0.3, "g",
        "another person or another mounting angle stays below; an axis swapped with the vertical one is beyond 1 g", "measured on the open recordings");
    public static readonly Threshold ReferenceGain = new("against a reference: misfit with axes exchanged, at most", 0.4, "of the misfit as they are",
        "an exchange that explains less than 60 % is not called one", "convention");

    public static readonly Threshold NearNyquist = new("dominant frequency near Nyquist", 0.8, "of half the rate", "a peak there may be a folded one from above", "sampling theorem");
    public static readonly Threshold MotionDeviation = new("spectrum: a class moves from this deviation on", 0.04, "g", "below, the spectrum is that of noise and of slow changes of posture", "measured on the open recordings");
    public static readonly Threshold AliasCare = new("power above the device's Nyquist, with care", 0.05, "of a class's power", "amplitude changes by 2.5 % when it is filtered out", "arithmetic: 1 − √0.95");
    public static readonly Threshold AliasUnfit = new("power above the device's Nyquist, unfit", 0.25, "of a class's power", "the device cannot see a quarter of the motion, or sees it folded", "convention");

    public static readonly Threshold BalanceCare = new("class balance", 0.1, "of the largest class's time", "a figure over seconds hardly sees the class", "convention");
    public static readonly Threshold UnlabelledCare = new("unlabelled time", 0.5, "of the recording", "most of the recording proves nothing", "convention");
    public static readonly Threshold ShortestSegment = new("shortest segment without a model", 2, "s", "shorter than the usual window of a classifier", "convention; with a model: its window");
    public static readonly Threshold LabelPastEnd = new("label past the end", 1, "s", "a player's rounding is shorter", "convention");
    public static readonly Threshold LabelDistance = new("label fit: distance from the class's other segments", 6, "robust deviations",
        "nearer segments of the same class differ by 1 to 4", "measured on the open recordings");
    public static readonly Threshold LabelNearer = new("label fit: distance to another class, at most", 0.4, "of the distance to its own", "clearly nearer to another class", "convention");
    public static readonly Threshold LabelFar = new("label fit: distance that needs no nearer class", 15, "robust deviations", "like no class at all", "convention");
    public static readonly Threshold LabelLevel = new("label fit: least spread of a level", 0.05, "g", "a tilt of 3° when the device is mounted again says nothing about a class", "arithmetic: arcsin 0.05");
    public static readonly Threshold LabelMotion = new("label fit: least spread of a deviation, range, step or roughness", 0.01, "g", "half of what counts as still", "as still");
    public static readonly Threshold LabelSegments = new("label fit: least other segments of a class", 2, "segments", "of two segments that differ nobody knows which one is odd", "logic");
    public static readonly Threshold LabelWindows = new("label fit: least windows of the rest of a class", 8, "windows", "a median deviation of fewer is chance", "convention");

    /// <summary>In the order in which they are declared.</summary>
    public static IReadOnlyList<Threshold> All { get; } =
        [.. typeof(Thresholds).GetFields().Where(f => f.FieldType == typeof(Threshold)).Select(f => (Threshold)f.GetValue(null)!)];

    /// <summary>The table of the README.</summary>
    public static string ToMarkdown()
    {
        var text = new StringBuilder("| threshold | value | unit | why | source |\n|---|---|---|---|---|\n");
        foreach (var t in All)
        {
            text.Append(CultureInfo.InvariantCulture, $"| {t.Name.Replace("|", "\\|", StringComparison.Ordinal)} | {t.Value:0.###} | {t.Unit} | {t.Reason.Replace("|", "\\|", StringComparison.Ordinal)} | {t.Source} |\n");
        }
        return text.ToString();
    }
}
