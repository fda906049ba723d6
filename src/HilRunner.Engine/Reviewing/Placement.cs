using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Reviewing;

/// <summary>Puts decisions on the stimulus axis: by sample number, else by the device's clock, else by arrival less link time.</summary>
/// <param name="played">Null where host time and stimulus time have no fixed relation: speed max, or nothing was played.</param>
/// <param name="stampNs">How late the host may have stamped an arrival; null: not known.</param>
internal sealed class Placement(
    RunManifest manifest, ClockReview clocks, LinkTimes times, PlayedTime? played, HostTime? origin, long? stampNs)
{
    /// <summary>The widest clock bound among the decisions that were placed by the device's clock; null: none was.</summary>
    public long? WorstClockUncertaintyNs { get; private set; }

    /// <summary>Link time taken off decisions that were placed by their arrival; null: none was.</summary>
    public long? TakenOffNs { get; private set; }

    /// <summary>
    /// Not null: the device counts samples and nothing proves that all came. Its number may then stand for a later sample, by as
    /// many as it is behind what had been sent when it said so.
    /// </summary>
    public SentSamples? CountedBy { get; init; }

    /// <summary>
    /// Where the link was seen to stall, a sample's way to the device may have taken as long as could hide there.
    /// </summary>
    private readonly StalledWay _way = new(clocks);

    public Decision Place(RawDecision raw)
    {
        var decision = new Decision(StimulusTime.Zero, raw.Class, raw.Output)
        {
            DeviceTime = raw.Device,
            ArrivalNs = origin is { } zero ? raw.FirstByte - zero : null,
            ArrivalUncertaintyNs = stampNs is { } late ? late + (played?.WorstLateNear(raw.FirstByte) ?? 0) + raw.EarlierNs : null,
            Confidence = raw.Confidence,
        };
        // Moved, not injected: the device numbers its own samples, and the host knows nothing of those.
        if (raw.N is { } number && manifest.Injects)
        {
            long sample = number - manifest.LeadSamples;
            return decision with { Time = manifest.Rate.TimeOf(sample), Timing = DecisionTiming.Sample,
                Sample = sample, UncertaintyNs = CountedUncertaintyNs(number, raw.FirstByte) };
        }
        if (raw.Device is { } stamp && clocks.MapOf(raw.Epoch) is { } clock)
        {
            var (host, bound) = clock.ToHost(stamp);
            WorstClockUncertaintyNs = Math.Max(WorstClockUncertaintyNs ?? 0, bound);
            return decision with
            {
                Time = StimulusAt(host) ?? StimulusTime.Zero,
                Timing = DecisionTiming.DeviceClock,
                UncertaintyNs = played is null
                    ? null : played.Scaled(bound + played.UsualLateBefore(host) + _way.HiddenNs(new(host.Ns - bound))),
            };
        }
        TakenOffNs = times.OneWay.Ns;
        return decision with
        {
            Time = StimulusAt(new(raw.FirstByte.Ns - times.OneWay.Ns)) ?? StimulusTime.Zero,
            Timing = DecisionTiming.Arrival,
            // How long this one message was on its way cannot be known, and so no interval can be vouched for.
            UncertaintyNs = null,
        };
    }

    /// <summary>0 where the number is the sample's own; null where nothing bounds how far it is off.</summary>
    private long? CountedUncertaintyNs(long number, HostTime arrival)
    {
        if (CountedBy is null) { return 0; }
        return played is null ? null : manifest.Rate.TimeOf(Math.Max(0, CountedBy.At(arrival) - 1 - number)).Ns;
    }

    /// <summary>Where samples were held up on their way to the device; empty where host time is not known.</summary>
    public IReadOnlyList<HeldUp> HeldUp => played is not null && origin is { } zero ? _way.HeldUp(zero) : [];

    public StimulusTime? StimulusAt(HostTime host) => played?.At(host);
}
