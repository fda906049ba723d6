using HilRunner.Inspection.Labels;
using HilRunner.Inspection.Reading;
using HilRunner.Inspection.Reference;
using HilRunner.Inspection.Rest;
using HilRunner.Inspection.Spectrum;
using HilRunner.Inspection.Timing;
using HilRunner.Inspection.Values;

namespace HilRunner.Inspection;

/// <summary>May a recording be used, and why not.</summary>
public static class Inspector
{
    /// <summary>In the order in which a doubter would ask: is it whole, is its time right, its values, its gravity, its motion, its labels.</summary>
    private static readonly IRecordingCheck[] s_checks =
    [
        new MissingCheck(), new TimeOrderCheck(), new GapCheck(), new RateCheck(), new ClockCheck(),
        new ClippingCheck(), new StuckCheck(), new QuantisationCheck(), new NoiseCheck(),
        new GravityCheck(), new AxisCheck(), new OrientationCheck(), new GyroRestCheck(), new ReferenceCheck(),
        new FrequencyCheck(), new DeviceRateCheck(), new SeverityCheck(),
        new LabelPlaceCheck(), new BalanceCheck(), new SegmentLengthCheck(), new LabelFitCheck(),
    ];

    /// <summary>Names of all checks, in their order.</summary>
    public static IReadOnlyList<string> CheckNames { get; } = [.. s_checks.Select(c => c.Name)];

    /// <summary>Runs every check. The same recording and options give the same result.</summary>
    public static RecordingInspection Inspect(InspectedRecording recording, InspectionOptions? options = null)
    {
        var context = new InspectionContext(recording, options ?? new());
        var checks = Array.ConvertAll(s_checks, c => c.Of(context));
        return new()
        {
            Recording = recording,
            EndNs = context.Axis.EndNs,
            Checks = checks,
            Classes = ClassTable.Of(context),
            Pictures = Pictures.Of(context),
        };
    }
}
