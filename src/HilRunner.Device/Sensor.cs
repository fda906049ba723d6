using System.Numerics;
using HilRunner.Core.Numerics;
using HilRunner.Core;
using HilRunner.Core.Links;
using HilRunner.Core.Models;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Time;

namespace HilRunner.Device;

/// <summary>What a device is mounted on.</summary>
/// <param name="Axis">The device's axis along which it moves.</param>
/// <param name="Up">The device's direction that points up.</param>
/// <param name="FeltG">Its acceleration at a moment, in g, beside gravity.</param>
public sealed record Ride(Direction Axis, Direction Up, Func<HostTime, double> FeltG);

/// <summary>
/// The device's own sensor, at the model's rate and in its counts: a recording over and over, or rest. At rest it reads 1 g on z,
/// and on every channel noise of its own: the ones among 32 random bits, less 16 (standard deviation √8 = 2.8 counts).
/// </summary>
internal sealed class Sensor
{
    private const int LargestCount = short.MaxValue;

    private readonly int[][]? _motion;
    private readonly int[] _rest;
    private readonly double _samplesPerNs;
    private readonly ulong _seed;
    private readonly (int Channel, double CountsPerG, Func<HostTime, double> FeltG)? _rides;
    private Xoshiro256 _noise;
    private int _next;

    private Sensor(MotionModel model, VirtualDeviceOptions options, int[][]? motion, Ride? ride)
    {
        _motion = motion;
        if (ride is { } on)
        {
            int channel = model.Channels.ToList().FindIndex(c => c.Name == on.Axis.Channel);
            _rides = (channel, on.Axis.Sign / model.Channels[channel].UnitsPerCount, on.FeltG);
        }
        var up = ride?.Up ?? new('z');
        _rest = [.. model.Channels.Select(c => c.Name == up.Channel ? (int)Math.Round(up.Sign / c.UnitsPerCount) : 0)];
        // It runs by the device's own clock: fast where that is fast.
        _samplesPerNs = model.Rate.MilliHertz / 1e12 * (1 + options.ClockSkewPpm * 1e-6);
        _seed = options.Seed;
        Restart();
    }

    /// <exception cref="BadInputException">The recording is absent, faulty, or lacks a channel.</exception>
    public static Sensor Of(MotionModel model, VirtualDeviceOptions options, Ride? ride = null)
    {
        if (options.Motion is not { } path) { return new(model, options, null, ride); }
        var scenario = new Scenario { Name = path, Steps = [new PlayStep(Path.GetFullPath(path))] };
        InputChannel[] channels = [.. model.Channels.Select(c => new InputChannel(c.Name, c.UnitsPerCount, LargestCount * c.UnitsPerCount))];
        return new(model, options, [.. StimulusBuilder.Build(scenario, "", new(model.Rate, channels), options.Seed).Counts], ride);
    }

    /// <summary>How long after its start the sample with this number is measured.</summary>
    public TimeSpan TimeOf(long n) => TimeSpan.FromTicks((long)Math.Round(n / _samplesPerNs / 100));

    /// <summary>From the start of the recording, and of the noise, on.</summary>
    public void Restart() => (_next, _noise) = (0, new(_seed));

    /// <param name="counts">One for each channel of the model.</param>
    /// <param name="at">When, for what rides on something that moves.</param>
    public void Feel(Span<int> counts, HostTime at)
    {
        for (int i = 0; i < counts.Length; i++)
        {
            counts[i] = _motion is not null ? _motion[i][_next] : _rest[i] + BitOperations.PopCount((uint)_noise.Next()) - 16;
        }
        if (_rides is var (channel, countsPerG, feltG)) { counts[channel] = Math.Clamp(counts[channel] + (int)Math.Round(countsPerG * feltG(at)), -LargestCount, LargestCount); }
        if (_motion is not null) { _next = (_next + 1) % _motion[0].Length; }
    }
}
