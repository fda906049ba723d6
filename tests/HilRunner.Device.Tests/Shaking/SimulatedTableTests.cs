using HilRunner.Core.Shakers;
using HilRunner.Core.Time;
using HilRunner.Device.Shaking;

namespace HilRunner.Device.Tests.Shaking;

/// <summary>The simulated table against the second-order response of any textbook of vibration, and its own safety.</summary>
public class SimulatedTableTests
{
    private static HostTime At(double s) => new((long)(s * 1e9));

    [TestCase(5)]
    [TestCase(16)]
    [TestCase(60)]
    [TestCase(120)]
    [TestCase(180)]
    public void A_sine_comes_out_with_the_gain_of_a_second_order_system(double hz)
    {
        var options = new SimulatedTableOptions { NaturalHz = 120, Damping = 0.5, Watchdog = null, MostG = 100 };
        var table = Moving(options, new SineMotion(hz, 0.5));
        double most = Enumerable.Range(0, 20_000).Max(i => Math.Abs(table.Truth(At(2 + i / 20_000.0)).G));
        double r = hz / 120, gain = 1 / Math.Sqrt(Math.Pow(1 - r * r, 2) + r * r);
        Assert.That(most / 0.5, Is.EqualTo(gain).Within(0.02 * gain));
    }

    [Test]
    public void What_rides_on_it_feels_the_same_at_any_moment_of_the_last_half_second()
    {
        var table = Moving(new() { Watchdog = null }, new SineMotion(10, 0.2));
        double[] first = [.. Enumerable.Range(0, 40).Select(i => table.FeltG(At(2 + i * 0.01)))];
        Assert.That(Enumerable.Range(0, 40).Select(i => table.FeltG(At(2 + i * 0.01))), Is.EqualTo(first));
        Assert.That(first.Max(), Is.EqualTo(0.2).Within(0.01));
    }

    [Test]
    public void Without_a_word_it_stops_within_its_watchdog_and_ramp()
    {
        var table = Moving(new(), new SineMotion(16, 0.3));
        Assert.That(table.Status(At(0.2)).State, Is.EqualTo(TableState.Moving));
        // Armed at 0: 250 ms of watchdog, 100 ms of ramp, and what a damped table rings on.
        Assert.That(Enumerable.Range(0, 2_000).Max(i => Math.Abs(table.Truth(At(0.4 + i / 2_000.0)).G)), Is.LessThan(0.01));
        Assert.That((table.Status(At(1.5)).State, table.Move(16, 0.1, At(1.5))), Is.EqualTo((TableState.Resting, "not armed")));
    }

    [Test]
    public void It_hits_its_ends_and_has_no_more_force_than_its_current_gives()
    {
        var table = Moving(new() { Watchdog = null, Stroke = 0.001, MostG = 100 }, new SineMotion(5, 0.5));
        Assert.That(Enumerable.Range(0, 4_000).Max(i => Math.Abs(table.Truth(At(1 + i / 4_000.0)).Mm)), Is.EqualTo(1).Within(1e-9));
        var weak = Moving(new() { Watchdog = null, MostG = 0.5 }, new SineMotion(50, 3));
        Assert.That(Enumerable.Range(0, 4_000).Max(i => Math.Abs(weak.Truth(At(1 + i / 4_000.0)).G)), Is.LessThanOrEqualTo(0.5 + 1e-9));
    }

    [Test]
    public void Guard_limit_and_heat_stop_it_and_keep_it_stopped()
    {
        foreach (var (options, state) in new[]
        {
            (new SimulatedTableOptions { Watchdog = null, InterlockAfter = TimeSpan.FromSeconds(1) }, TableState.Interlock),
            (new() { Watchdog = null, LimitAfter = TimeSpan.FromSeconds(1) }, TableState.Limit),
            (new() { Watchdog = null, HotAfter = TimeSpan.FromSeconds(1) }, TableState.Hot),
        })
        {
            var table = Moving(options, new SineMotion(16, 0.3));
            Assert.That(table.Status(At(0.9)).State, Is.EqualTo(TableState.Moving));
            Assert.That(table.Status(At(2)).State, Is.EqualTo(state));
            Assert.That(Math.Abs(table.Truth(At(2.01)).G), Is.LessThan(0.01));
            Assert.That(table.Arm(At(3)), Is.EqualTo(state.ToString().ToLowerInvariant()));
        }
    }

    private static SimulatedTable Moving(SimulatedTableOptions options, SineMotion motion)
    {
        var table = new SimulatedTable(options, At(0));
        Assert.That(table.Move(motion.Hz, motion.Displacement * 1000, At(0)), Is.EqualTo("not armed"));
        Assert.That(table.Arm(At(0)), Is.Null);
        Assert.That(table.Move(motion.Hz, motion.Displacement * 1000, At(0.001)), Is.Null);
        return table;
    }
}
