using HilRunner.Core.Links;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Engine.Clocks;

namespace HilRunner.Engine.Reviewing;

/// <summary>Puts decisions on the stimulus axis: by sample number, else by the device's clock, else by arrival less link time.</summary>
internal sealed class Placement(RunManifest manifest, Rig rig, HostTime? origin, decimal? speed, ClockMap? clock)
{
    /// <summary>The widest clock bound among the decisions that were placed by the device's clock; null: none was.</summary>
    public long? WorstClockUncertaintyNs { get; private set; }

    public Decision Place(string name, string output, long? n, DeviceTime? device, double? confidence, HostTime firstByte)
    {
        long? arrival = origin is { } zero ? firstByte - zero : null;
        if (n is { } number)
        {
            long sample = number - manifest.LeadSamples;
            return new(manifest.Rate.TimeOf(sample), name, output)
            {
                Timing = DecisionTiming.Sample,
                Sample = sample,
                DeviceTime = device,
                ArrivalNs = arrival,
                UncertaintyNs = 0,
                Confidence = confidence,
            };
        }
        if (device is { } stamp && clock is not null)
        {
            var (host, uncertainty) = clock.ToHost(stamp);
            WorstClockUncertaintyNs = Math.Max(WorstClockUncertaintyNs ?? 0, uncertainty);
            return new(StimulusAt(host) ?? StimulusTime.Zero, name, output)
            {
                Timing = DecisionTiming.DeviceClock,
                DeviceTime = device,
                ArrivalNs = arrival,
                UncertaintyNs = Scaled(uncertainty),
                Confidence = confidence,
            };
        }
        return new(StimulusAt(new(firstByte.Ns - LinkNs)) ?? StimulusTime.Zero, name, output)
        {
            Timing = DecisionTiming.Arrival,
            DeviceTime = device,
            ArrivalNs = arrival,
            UncertaintyNs = clock is null ? null : Scaled(LinkNs),
            Confidence = confidence,
        };
    }

    /// <summary>Null where host time and stimulus time have no fixed relation (speed max, or nothing was played).</summary>
    public StimulusTime? StimulusAt(HostTime host) =>
        origin is { } zero && speed is not null ? new(Scaled(host - zero)) : null;

    /// <summary>What a byte needs from the device to here: half the best round trip, else its time on the wire.</summary>
    private long LinkNs => clock?.LinkNs
        ?? (rig.Device.Link is SerialLinkSpec serial ? (long)Math.Round(serial.BitsPerByte * 1e9 / serial.Baud) : 0);

    private long Scaled(long hostNs) => (long)decimal.Round(hostNs * (speed ?? 1));
}
