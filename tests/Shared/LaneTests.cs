using System.Reflection;

// Fixtures are calm unless they say otherwise.
[assembly: Parallelizable(ParallelScope.Fixtures)]

namespace HilRunner.Testing;

/// <summary>Each fixture of this assembly is in one lane, and one that is not calm says why.</summary>
internal sealed class LaneTests
{
    private static readonly Type[] s_fixtures = [.. typeof(LaneTests).Assembly.GetTypes().Where(HasTests)];

    [Test]
    public void A_timing_fixture_says_what_it_measures_or_what_would_disturb_it() => Assert.Multiple(() =>
    {
        Assert.That(s_fixtures, Does.Contain(typeof(LaneTests)), "fixtures are found");
        foreach (Type fixture in s_fixtures)
        {
            if (fixture.GetCustomAttribute<TimingAttribute>() is not { } timing) { continue; }
            Assert.That(timing.Reason.Split(' '), Has.Length.GreaterThanOrEqualTo(3), $"{fixture.Name}: the reason, in words");
            Assert.That(fixture.GetCustomAttribute<ParallelizableAttribute>(),
                Is.Null, $"{fixture.Name} is in the timing lane and wants to run beside others");
        }
    });

    [Test]
    public void Nothing_is_in_the_timing_lane_but_by_that_mark_and_always_as_a_whole_fixture() => Assert.Multiple(() =>
    {
        foreach (Type fixture in s_fixtures)
        {
            var marked = fixture.GetMethods().Cast<MemberInfo>()
                .Append(fixture).SelectMany(m => m.GetCustomAttributes<CategoryAttribute>());
            Assert.That(marked.Select(c => c.Name), Has.None.EqualTo(TimingAttribute.Lane),
                $"{fixture.Name}: [Timing(\"reason\")] on the fixture says it");
        }
    });

    private static bool HasTests(Type type) =>
        !type.IsAbstract
        && type.GetMethods()
        .Any(m => m.GetCustomAttributes()
            .Any(a => a is TestAttribute or TestCaseAttribute or TestCaseSourceAttribute or TheoryAttribute));
}
