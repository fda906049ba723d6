using System.Globalization;
using HilRunner.Core.Recordings.Likeness;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Recordings.Likeness;

/// <summary>
/// On the open recordings (shared data, README there): different people, different experiments of one person, machine and drops
/// are never taken for one motion; copies of each are found, at the right shift.
/// </summary>
public sealed class SharedMotionTests
{
    private static readonly string[] s_names = ["ax", "ay", "az"];
    private static readonly Random s_random = new(20);

    /// <param name="Axes">[axis][sample], g.</param>
    private sealed record Motion(string Name, int Hertz, double[][] Axes)
    {
        public MotionPrint Print => MotionPrint.Of(new SampleRate(1000L * Hertz), s_names, Axes);

        public Motion With(string name, Func<double[], double[]> change, int? hertz = null) =>
            new($"{Name} {name}", hertz ?? Hertz, [.. Axes.Select(change)]);
    }

    private static readonly Lazy<IReadOnlyList<Motion>> s_open = new(() => [.. Open()]);

    [Test]
    public void No_two_of_the_open_recordings_are_taken_for_one()
    {
        var all = s_open.Value;
        Assert.That(all, Has.Count.GreaterThan(60));
        var found = SharedMotions.Of([.. all.Select(m => m.Print)]);
        Assert.That(found.Select(f => $"{all[f.First].Name} = {all[f.Second].Name}"), Is.Empty);
    }

    private static readonly (string Name, double Shift, Func<Motion, Motion> Make)[] s_copies =
    [
        ("the same", 0, m => m),
        ("one sample less", 1, m => m.With("", a => a[1..])),
        ("rounded to 10 mg", 0, m => m.With("", a => [.. a.Select(v => Math.Round(v, 2))])),
        ("one decimal more", 0, m => m.With("", a => [.. a.Select(v => v + Math.Round((s_random.NextDouble() - 0.5) * 1e-3,
            5))])),
        ("first half", 0, m => m.With("", a => a[..(a.Length / 2)])),
        ("second half", double.NaN, m => m.With("", a => a[(a.Length / 2)..])),
        ("with noise of 10 mg", 0, m => m.With("", a => [.. a.Select(v => v + 0.01 * Normal())])),
        ("turned", 0, Turned),
        ("on its head", 0, m => m.With("", a => [.. a.Select(v => -v)])),
        ("at four fifths of the rate", 0, m => m.With("", a => Slower(a, 1.25), m.Hertz * 4 / 5)),
        ("half as strong again", 0, m => m.With("", a => [.. a.Select(v => 1.5 * v)])),
    ];

    private static IEnumerable<string[]> Copies() =>
        from of in (string[])["activity 01", "activity 09", "pocket 06", "daily 1631 A", "daily 1637 D", "fan 1 60",
            "fan 3 100", "drop 05"]
        from copy in s_copies.Select(c => c.Name)
        // Still, but for noise that covers all there is: nothing is left to know it by.
        where of != "daily 1637 D" || copy != "with noise of 10 mg"
        // Four seconds, most of them still before a fall: as short as a knock.
        where of != "drop 05" || copy != "first half"
        select new[] { of, copy };

    /// <summary>As copies are made: another name, cut, rounded, turned, resampled, with noise.</summary>
    [TestCaseSource(nameof(Copies))]
    public void A_copy_is_found(string of, string copy)
    {
        var motion = s_open.Value.Single(m => m.Name == of);
        var (_, shift, make) = s_copies.Single(c => c.Name == copy);
        var copied = make(motion);
        // Among others, in either order.
        var others = s_open.Value.Where(m => m.Name != of).Take(3).Select(m => m.Print);
        var found = SharedMotions.Of([.. others, motion.Print, copied.Print]);
        Assert.That(found.Select(f => (f.First, f.Second)), Is.EqualTo(new[] { (3, 4) }));
        double at = double.IsNaN(shift) ? motion.Axes[0].Length / 2 / (double)motion.Hertz : shift / motion.Hertz;
        Assert.That(found[0].ShiftNs / 1e9, Is.EqualTo(at).Within(0.1));
        Assert.That(SharedMotions.Of([copied.Print, motion.Print]).Single().ShiftNs,
            Is.EqualTo(-found[0].ShiftNs).Within(80_000_000));
    }

    private static Motion Turned(Motion motion)
    {
        // About x by 40°, then about z by 70°.
        double[] Turn(double[] u, double[] v, double degrees, bool first)
        {
            double c = Math.Cos(degrees * Math.PI / 180), s = Math.Sin(degrees * Math.PI / 180);
            return [.. u.Zip(v, (a, b) => first ? c * a - s * b : s * a + c * b)];
        }
        double[] x = motion.Axes[0], y = Turn(motion.Axes[1], motion.Axes[2], 40, true), z = Turn(motion.Axes[1],
            motion.Axes[2], 40, false);
        return motion with { Axes = [Turn(x, y, 70, true), Turn(x, y, 70, false), z] };
    }

    private static double[] Slower(double[] values, double by) =>
    [
        .. Enumerable.Range(0, (int)(values.Length / by) - 1).Select(i =>
        {
            double at = i * by;
            int k = (int)at;
            return values[k] + (values[k + 1] - values[k]) * (at - k);
        }),
    ];

    private static double Normal()
    {
        lock (s_random) { return Math.Sqrt(-2 * Math.Log(1 - s_random.NextDouble())) * Math.Cos(2 * Math.PI * s_random.NextDouble()); }
    }

    private static IEnumerable<Motion> Open()
    {
        foreach (string n in (string[])["exp01_user01", "exp03_user02", "exp05_user03", "exp07_user04", "exp09_user05",
            "exp11_user06"])
        {
            yield return new("activity " + n[3..5], 50, Columns(TestPaths.OpenData($"activity/acc_{n}.txt"), ' ', 0, 0, 1));
        }
        foreach (string n in (string[])["exp06_user04", "exp07_user03", "exp10_user06"])
        {
            yield return new("pocket " + n[3..5], 50,
                Columns(TestPaths.OpenData($"activity-pocket/acc_{n}.txt"), ' ', 0, 0, 9.80665));
        }
        foreach (int n in (int[])[1, 3, 5, 7, 9, 11, 13, 15])
        {
            yield return new($"drop {n:00}", 200, Columns(TestPaths.OpenData($"drops/fall_{n:00}.csv"), ',', 1, 1, 9.80665));
        }
        foreach (string subject in (string[])["1631", "1637"])
        {
            var lines = File.ReadAllLines(TestPaths.OpenData($"activity-daily/data_{subject}_accel_phone.txt")).Select(l => l.Trim().TrimEnd(';').Split(',')).Where(f => f.Length >= 6);
            foreach (var block in lines.GroupBy(f => f[1]))
            {
                yield return new($"daily {subject} {block.Key}", 20, [.. Enumerable.Range(3, 3).Select(i => block.Select(f => double.Parse(f[i], CultureInfo.InvariantCulture) / 9.80665).ToArray())]);
            }
        }
        var fan = File.ReadAllLines(TestPaths.OpenData("vibration/fan.csv")).Skip(1).Select(l => l.Split(',')).ToList();
        foreach (var run in fan.GroupBy(f => (f[0], f[1])))
        {
            yield return new($"fan {run.Key.Item1} {run.Key.Item2}", 50, [.. Enumerable.Range(2, 3).Select(i => run.Select(f => double.Parse(f[i], CultureInfo.InvariantCulture)).ToArray())]);
        }
    }

    private static double[][] Columns(string path, char separator, int skip, int first, double unit)
    {
        var rows = File.ReadAllLines(path).Skip(skip).Select(l => l.Split(separator,
            StringSplitOptions.RemoveEmptyEntries)).Where(f => f.Length >= first + 3).ToList();
        return [.. Enumerable.Range(first, 3).Select(i => rows.Select(f => double.Parse(f[i],
            CultureInfo.InvariantCulture) / unit).ToArray())];
    }
}
