// Makes the recordings of the parcel tag: invented, seeded, the same bytes each time.
//
//     dotnet run scenarios/parcel/Generate.cs                 into scenarios/parcel/recordings
//     dotnet run scenarios/parcel/Generate.cs -- FOLDER       somewhere else
//
// Needs nothing but the .NET SDK. What the tag feels is specific force in g, 100 samples a second, on axes fixed to the tag.

#:property PublishAot=false

using System.Globalization;
using System.Runtime.CompilerServices;
using System.Text;

string folder = args.Length > 0 ? args[0] : Path.Combine(Path.GetDirectoryName(ThisFile())!, "recordings");
Directory.CreateDirectory(folder);

Parcel morning = new(seed: 11);
morning.Rest(12);
morning.Carry(15, stepHz: 1.8);
morning.Rest(12);
morning.Convey(18, hz: 16.4, peakG: 0.16);
morning.Rest(14);
morning.Write(folder, "morning", "goods-in, first round");

Parcel belt = new(seed: 12);
belt.Convey(20, hz: 13.1, peakG: 0.11);
belt.Rest(11);
belt.Convey(20, hz: 19.3, peakG: 0.20);
belt.Carry(13, stepHz: 2.05);
belt.Rest(10);
belt.Write(folder, "belt", "two belts, the second one faster");

Parcel drops = new(seed: 13);
drops.Rest(9);
foreach (double heightM in (double[])[0.5, 0.9, 1.4])
{
    drops.Carry(8.5, stepHz: 1.7 + 0.2 * heightM);
    drops.Drop(heightM);
    drops.Rest(10.5);
}
drops.Write(folder, "drops", "three drops, from 0.5 m, 0.9 m and 1.4 m");

Parcel handover = new(seed: 14);
handover.Rest(9);
handover.Handle(1.2);
handover.Carry(14, stepHz: 1.9);
handover.Handle(1.0);
handover.Convey(14, hz: 14.7, peakG: 0.14);
handover.Handle(1.1);
handover.Carry(12, stepHz: 1.75);
handover.Rest(9);
handover.Write(folder, "handover", "from shelf to belt to van, with the moments of handling labelled");

static string ThisFile([CallerFilePath] string path = "") => path;

/// <summary>One tag on one parcel: what it does, second by second.</summary>
internal sealed class Parcel
{
    private const double RateHz = 100;
    private const double Gravity = 9.80665;
    // Crossing over from one posture to the next takes as long as a hand needs to set a parcel down.
    private const double SettleS = 0.4;

    private readonly List<(double X, double Y, double Z)> _samples = [];
    private readonly List<(int Start, int End, string Class)> _labels = [];
    private ulong _random;
    private double _rollDeg, _pitchDeg, _fromRollDeg, _fromPitchDeg;

    public Parcel(ulong seed) => _random = seed;

    /// <summary>On a shelf: gravity and the noise of the sensor.</summary>
    public void Rest(double seconds)
    {
        Turn(2);
        Segment("resting", seconds, (_, _) => default, noiseG: 0.003);
    }

    /// <summary>
    /// In somebody's arms: steps with their harmonics, sway at half the rate of the steps, and no step quite like the last.
    /// </summary>
    public void Carry(double seconds, double stepHz)
    {
        Turn(25);
        double phase = 0;
        double rate = stepHz;
        double strength = 1;
        int step = 0;
        Segment("carried", seconds, (t, envelope) =>
        {
            phase += rate / RateHz;
            if ((int)phase > step)
            {
                step = (int)phase;
                rate = stepHz * (1 + 0.03 * Normal());
                strength = 1 + 0.12 * Normal();
            }
            double a = 2 * Math.PI * phase;
            return new(
                envelope * strength * (0.10 * Math.Sin(a + 0.9) + 0.05 * Math.Sin(2 * a)),
                envelope * strength * 0.09 * Math.Sin(a / 2),
                envelope * strength * (0.24 * Math.Sin(a) + 0.11 * Math.Sin(2 * a + 0.6) + 0.04 * Math.Sin(3 * a + 1.7)),
                envelope * 5 * Math.Sin(a / 2 + 0.4),
                envelope * 4 * Math.Sin(2 * Math.PI * 0.23 * t));
        }, noiseG: 0.012);
    }

    /// <summary>On a belt: rollers at 12 to 20 Hz, a second tone beside them, amplitude that comes and goes.</summary>
    public void Convey(double seconds, double hz, double peakG)
    {
        Turn(3);
        double phase = 0;
        Segment("conveyed", seconds, (t, envelope) =>
        {
            phase += hz * (1 + 0.01 * Math.Sin(2 * Math.PI * 0.11 * t)) / RateHz;
            double a = 2 * Math.PI * phase;
            double peak = envelope * peakG * (1 + 0.2 * Math.Sin(2 * Math.PI * 0.37 * t));
            return new(0.4 * peak * Math.Sin(a + 1.1), 0.25 * peak * Math.Sin(a + 2.3),
                peak * (Math.Sin(a) + 0.25 * Math.Sin(1.21 * a)), 0, 0);
        }, noiseG: 0.008);
    }

    /// <summary>Picked up, turned and set down: neither at rest nor carried.</summary>
    public void Handle(double seconds)
    {
        Turn(15);
        Segment("handled", seconds, (t, envelope) => new(0.15 * envelope * Math.Sin(2 * Math.PI * 0.8 * t), 0,
            0.25 * envelope * Math.Sin(2 * Math.PI * t / seconds), 20 * envelope * Math.Sin(Math.PI * t / seconds), 0), noiseG: 0.015);
    }

    /// <summary>Free fall for √(2h/g) with a slow tumble, then an impact of about 35 ms and its ringing.</summary>
    public void Drop(double heightM)
    {
        int fall = (int)Math.Round(RateHz * Math.Sqrt(2 * heightM / Gravity));
        const int Impact = 4;
        const int Ring = 46;
        double peakG = 4.5 + 1.5 * heightM;
        int start = _samples.Count;
        for (int i = 0; i < fall; i++) { Add(0.03, 0.02 * Math.Sin(0.2 * i), 0.03 * Math.Cos(0.2 * i), 0.006); }
        Turn(30);
        _fromRollDeg = _rollDeg;
        _fromPitchDeg = _pitchDeg;
        for (int i = 0; i < Impact; i++)
        {
            double g = peakG * Math.Sin(Math.PI * (i + 0.5) / Impact);
            Add(0.3 * g, -0.2 * g, 0.9 * g, 0.05);
        }
        (double gx, double gy, double gz) = GravityAt(_rollDeg, _pitchDeg);
        for (int i = 0; i < Ring; i++)
        {
            double ring = 0.7 * Math.Exp(-i / 9.0) * Math.Sin(2 * Math.PI * 21 * i / RateHz);
            Add(gx + 0.4 * ring, gy + 0.3 * ring, gz + ring, 0.005);
        }
        _labels.Add((start, _samples.Count, "dropped"));
    }

    public void Write(string folder, string name, string what)
    {
        StringBuilder data = new("ax_g,ay_g,az_g\n");
        foreach ((double x, double y, double z) in _samples)
        {
            data.Append(CultureInfo.InvariantCulture, $"{Digits(x)},{Digits(y)},{Digits(z)}\n");
        }
        StringBuilder labels = new("start_s,end_s,class\n");
        foreach ((int start, int end, string name_) in _labels)
        {
            labels.Append(CultureInfo.InvariantCulture, $"{start / RateHz:0.00},{end / RateHz:0.00},{name_}\n");
        }
        string side = $"""
            rate: 100 Hz
            range: 8 g
            source: made-up parcel, {what}
            mounting: tag on the top face, z up
            provenance: generated by scenarios/parcel/Generate.cs
            licence: as this repository
            invented: true

            """;
        File.WriteAllText(Path.Combine(folder, name + ".csv"), data.ToString());
        File.WriteAllText(Path.Combine(folder, name + ".labels.csv"), labels.ToString());
        File.WriteAllText(Path.Combine(folder, name + ".yaml"), side.ReplaceLineEndings("\n"));
    }

    // What moves the tag beside gravity, and how far it tips at that moment.
    private readonly record struct Motion(double X, double Y, double Z, double RollDeg, double PitchDeg);

    private void Segment(string name, double seconds, Func<double, double, Motion> motion, double noiseG)
    {
        int start = _samples.Count;
        int count = (int)Math.Round(seconds * RateHz);
        for (int i = 0; i < count; i++)
        {
            double t = i / RateHz;
            double settled = Smooth(t / SettleS);
            double envelope = settled * Smooth((seconds - t) / SettleS);
            Motion m = motion(t, envelope);
            (double x, double y, double z) = GravityAt(
                _fromRollDeg + settled * (_rollDeg - _fromRollDeg) + m.RollDeg, _fromPitchDeg + settled * (_pitchDeg - _fromPitchDeg) + m.PitchDeg);
            Add(x + m.X, y + m.Y, z + m.Z, noiseG);
        }
        _labels.Add((start, _samples.Count, name));
    }

    private void Turn(double spreadDeg)
    {
        (_fromRollDeg, _fromPitchDeg) = (_rollDeg, _pitchDeg);
        _rollDeg = spreadDeg * (2 * Share() - 1);
        _pitchDeg = spreadDeg * (2 * Share() - 1);
    }

    private static (double X, double Y, double Z) GravityAt(double rollDeg, double pitchDeg)
    {
        double roll = rollDeg * Math.PI / 180;
        double pitch = pitchDeg * Math.PI / 180;
        return (-Math.Sin(pitch), Math.Sin(roll) * Math.Cos(pitch), Math.Cos(roll) * Math.Cos(pitch));
    }

    private static double Smooth(double share)
    {
        double s = Math.Clamp(share, 0, 1);
        return s * s * (3 - 2 * s);
    }

    private void Add(double x, double y, double z, double noiseG) =>
        _samples.Add((x + noiseG * Normal(), y + noiseG * Normal(), z + noiseG * Normal()));

    // Whole milli-g; "-0" would be another byte for the same value.
    private static string Digits(double g) => (Math.Round(g * 1000) / 1000 + 0.0).ToString("0.###", CultureInfo.InvariantCulture);

    // SplitMix64 (Steele, Lea, Flood 2014), so that the same seed gives the same motion whatever the runtime.
    private double Share()
    {
        _random += 0x9E3779B97F4A7C15;
        ulong z = _random;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EB;
        z ^= z >> 31;
        return (z >> 11) * (1.0 / (1UL << 53));
    }

    // Box and Muller 1958.
    private double Normal() => Math.Sqrt(-2 * Math.Log(1 - Share())) * Math.Cos(2 * Math.PI * Share());
}
