using HilRunner.Core.Links;
using HilRunner.Device.Faults;
using Microsoft.Extensions.Time.Testing;

namespace HilRunner.Device.Tests;

/// <summary>Each fault does what its option says, and is counted.</summary>
public sealed class DeviceFaultTests
{
    private static readonly VirtualDeviceOptions Plain = new() { Model = "", CreditWindow = 0 };

    [Test]
    public void It_resets_at_the_sample_and_is_deaf_to_the_rest_of_the_run()
    {
        using Bench bench = new(Plain with { ResetAt = 120, CreditWindow = 40 });
        bench.Link.Send("begin 100000\n" + TestMotion.Lines() + "end\nid\n");
        bench.Link.WaitForLine("id");
        Assert.Multiple(() =>
        {
            Assert.That(bench.Link.Lines.Count(l => l == "boot 1.0.0"), Is.EqualTo(2));
            Assert.That(bench.Link.Lines[^2], Is.EqualTo("boot 1.0.0"), "nothing is said of the run after it");
            Assert.That(bench.Device.Counters.SamplesConsumed, Is.EqualTo(121));
            Assert.That(bench.Device.Counters.SamplesIgnored, Is.EqualTo(TestMotion.Z.Length - 121));
        });
    }

    [Test]
    public void Hung_it_says_nothing_more_and_the_writer_is_not_held_up()
    {
        using Bench bench = new(Plain with { HangAt = 70, CreditWindow = 40 });
        bench.Link.Send("begin 100000\n" + TestMotion.Lines(0, 80));
        bench.Link.WaitForLine("k 69");
        bench.Link.Send(new byte[200_000]);
        bench.Link.Send("reset\nid\n");
        bench.Dispose();
        Assert.Multiple(() =>
        {
            Assert.That(bench.Link.Lines.Last(), Is.EqualTo("k 69"));
            Assert.That(bench.Device.Counters.SamplesConsumed, Is.EqualTo(71));
            Assert.That(bench.Device.Counters.BytesVanished, Is.GreaterThanOrEqualTo(200_000));
        });
    }

    [Test]
    public void Unplugged_its_end_of_the_link_goes()
    {
        using Bench bench = new(Plain with { UnplugAt = 120 });
        bench.Link.Send("begin 100000\n" + TestMotion.Lines());
        bench.Link.WaitFor(() => bench.Link.Disposed, "the link is closed");
        Assert.That(bench.Link.Lines.Last(), Does.StartWith("c 109 carried"), "what was due has been said");
    }

    [Test]
    public void Slow_credit_is_held_back()
    {
        FakeTimeProvider time = new();
        using Bench bench = new(Plain with { CreditWindow = 40, SlowCredit = TimeSpan.FromMilliseconds(250) }, time);
        bench.Link.Send("begin 100000\n" + TestMotion.Lines(0, 10) + "t 1\n");
        bench.Link.WaitForLine("t 1");
        time.Advance(TimeSpan.FromMilliseconds(249));
        bench.Link.Send("t 2\n");
        bench.Link.WaitForLine("t 2");
        Assert.That(bench.Link.Lines.Any(l => l[0] == 'k'), Is.False);
        time.Advance(TimeSpan.FromMilliseconds(1));
        bench.Link.WaitForLine("k 9");
    }

    [Test]
    public void Bytes_are_damaged_as_often_as_asked_and_the_same_seed_does_the_same()
    {
        byte[] message = new byte[200_000];
        VirtualDeviceOptions options = Plain with { LoseBytes = 0.01, GarbleBytes = 0.02, DuplicateBytes = 0.03, Seed = 7 };
        (byte[] Bytes, ByteFaults Faults) Damage(VirtualDeviceOptions o)
        {
            ByteFaults faults = new(o);
            byte[] damaged = new byte[2 * message.Length];
            int count = faults.Apply(message, damaged);
            return (damaged[..count], faults);
        }
        (byte[] bytes, ByteFaults counted) = Damage(options);
        // Five standard deviations of a binomial count of 200 000: 4.9 √(n p).
        Assert.Multiple(() =>
        {
            Assert.That(counted.Lost, Is.EqualTo(2000).Within(220));
            Assert.That(counted.Garbled, Is.EqualTo(200_000 * 0.99 * 0.02).Within(310));
            Assert.That(counted.Duplicated, Is.EqualTo(200_000 * 0.99 * 0.03).Within(380));
            Assert.That(bytes, Has.Length.EqualTo(message.Length - counted.Lost + counted.Duplicated));
            Assert.That(bytes.Where(b => b != 0).All(b => System.Numerics.BitOperations.PopCount(b) == 1), "one bit each");
            Assert.That(Damage(options).Bytes, Is.EqualTo(bytes));
            Assert.That(Damage(options with { Seed = 8 }).Bytes, Is.Not.EqualTo(bytes));
        });
    }

    [Test]
    public void Damaged_bytes_reach_the_link()
    {
        using Bench bench = new(Plain with { GarbleBytes = 1 });
        bench.Link.WaitFor(() => bench.Link.Bytes.Length == "boot 1.0.0\n".Length, "a banner, garbled");
        Assert.That(bench.Link.Text, Is.Not.EqualTo("boot 1.0.0\n"));
    }
}
