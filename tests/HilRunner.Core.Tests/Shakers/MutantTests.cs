using System.Runtime.Loader;
using CsCheck;
using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.CSharp;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Shakers;

/// <summary>The checking code with a slip in it, compiled anew for each: every slip lets something through that the properties catch.</summary>
public class MutantTests
{
    private static readonly string[] s_sources = ["Envelope", "SineMotion", "MotionGate", "DutyClock", "StreamGate"];

    [TestCase("Envelope", "motion.Hz >= FromHz", "motion.Hz >= FromHz / 2", TestName = "the lower frequency is half as high")]
    [TestCase("Envelope", "motion.Hz <= ToHz", "motion.Hz <= ToHz * 2", TestName = "the upper frequency is twice as high")]
    [TestCase("Envelope", "motion.PeakG <= PeakG", "motion.PeakG <= PeakG * 1.1", TestName = "a tenth more acceleration")]
    [TestCase("Envelope", "motion.Displacement <= Displacement", "motion.Displacement <= 2 * Displacement", TestName = "the stroke taken for one side of it")]
    [TestCase("Envelope", "motion.Velocity <= Velocity", "motion.Velocity / Math.Sqrt(2) <= Velocity", TestName = "velocity as rms")]
    [TestCase("Envelope", "motion.Jerk <= Jerk ? null", "true ? null", TestName = "no jerk")]
    [TestCase("Envelope", "|| motion.PeakG < 0", "", TestName = "a negative level")]
    [TestCase("SineMotion", "Acceleration / (Omega * Omega)", "Acceleration / (2 * Omega * Omega)", TestName = "peak to peak for zero to peak")]
    [TestCase("MotionGate", "Math.Min(afterS, LongestStepS)", "afterS", TestName = "a long wait is leave for a large step")]
    [TestCase("MotionGate", "double step = Math.Abs(next.PeakG - Now.PeakG)", "double step = next.PeakG - Now.PeakG", TestName = "a fall is no step")]
    [TestCase("MotionGate", "&& Now.PeakG != 0", "&& Now.PeakG > 1e9", TestName = "another frequency while it moves")]
    [TestCase("MotionGate", "+ step / TakeUpS <=", "<=", TestName = "the step's own jerk")]
    [TestCase("MotionGate", "+ TakeUpG(step, next.Hz) > envelope.PeakG", "> envelope.PeakG", TestName = "what a growing amplitude adds")]
    [TestCase("MotionGate", "+ taken > envelope.Velocity", "> envelope.Velocity", TestName = "what it adds to the velocity")]
    [TestCase("MotionGate", "next.PeakG > 0 && moved > envelope.Longest.TotalSeconds", "next.PeakG > 0 && Now.PeakG == 0 && moved > envelope.Longest.TotalSeconds", TestName = "the longest motion, only when it begins")]
    [TestCase("DutyClock", "_restFrom >= envelope.Rest.TotalSeconds", "_restFrom >= 0", TestName = "any pause is a rest")]
    [TestCase("StreamGate", "Math.Abs((double)nm) <= _mostNm", "nm <= _mostNm", TestName = "positions: one side only")]
    [TestCase("StreamGate", "Math.Abs((double)v) <= _mostV", "true", TestName = "positions: no velocity")]
    [TestCase("StreamGate", "Math.Abs((double)a) <= _mostA", "Math.Abs((double)a) <= 1.1 * _mostA", TestName = "positions: a tenth more acceleration")]
    [TestCase("StreamGate", "Math.Abs((double)j) <= _mostJ", "Math.Abs((double)a) <= _mostJ", TestName = "positions: acceleration for jerk")]
    [TestCase("StreamGate", "<= risen + GrainG", "<= envelope.PeakG", TestName = "positions: no ramp")]
    [TestCase("StreamGate", "a = v - _v,", "a = v,", TestName = "positions: velocity for acceleration")]
    public void ASlipIsCaught(string file, string right, string wrong)
    {
        var maker = Compiled(file, right, wrong);
        bool stream = file == "StreamGate";
        // As many as in the properties of the real gates.
        Assert.That(() => stream ? GateProperties.Streams(maker, 100_000) : GateProperties.Sines(maker, 100_000), Throws.TypeOf<CsCheckException>(), $"{right} → {wrong} got away with it");
    }

    [Test]
    public void CompiledAnewAndWithoutASlipNothingIsCaught()
    {
        var maker = Compiled("Envelope", "motion.Hz >= FromHz", "motion.Hz >= FromHz");
        Assert.That(() => GateProperties.Sines(maker, 10_000), Throws.Nothing);
        Assert.That(() => GateProperties.Streams(maker, 10_000), Throws.Nothing);
    }

    private static IGateMaker Compiled(string file, string right, string wrong)
    {
        string core = Path.Combine(TestPaths.Root, "src", "HilRunner.Core"), folder = Path.Combine(core, "Shakers");
        var trees = s_sources.Select(name =>
        {
            string text = File.ReadAllText(Path.Combine(folder, name + ".cs"));
            if (name == file)
            {
                Assert.That(text.Split(right), Has.Length.EqualTo(2), $"{right} stands once in {name}.cs");
                text = text.Replace(right, wrong, StringComparison.Ordinal);
            }
            return Parsed(text);
        }).Append(Parsed(File.ReadAllText(Path.Combine(TestPaths.Root, "tests", "HilRunner.Core.Tests", "Shakers", "GateMaker.cs")).Replace("namespace HilRunner.Core.Tests.Shakers;", "using HilRunner.Core.Tests.Shakers;\nnamespace Slipped;", StringComparison.Ordinal)))
            .Append(Parsed(File.ReadAllText(Path.Combine(core, "Numerics", "Gravity.cs"))))
            .Append(Parsed("global using System; global using System.Collections.Generic; global using System.Linq;"));
        string runtime = Path.GetDirectoryName(typeof(object).Assembly.Location)!;
        var references = Directory.GetFiles(runtime, "System*.dll").Where(IsManaged).Append(typeof(IGateMaker).Assembly.Location).Select(path => MetadataReference.CreateFromFile(path));
        using var image = new MemoryStream();
        var made = CSharpCompilation.Create("Slipped", trees, references, new(OutputKind.DynamicallyLinkedLibrary, nullableContextOptions: NullableContextOptions.Enable)).Emit(image);
        Assert.That(made.Success, string.Join('\n', made.Diagnostics.Where(d => d.Severity == DiagnosticSeverity.Error)));
        image.Position = 0;
        var assembly = new AssemblyLoadContext(null).LoadFromStream(image);
        return (IGateMaker)Activator.CreateInstance(assembly.GetType("Slipped.GateMaker")!)!;
    }

    private static bool IsManaged(string path) => !Path.GetFileName(path).Contains(".Native", StringComparison.Ordinal);

    private static SyntaxTree Parsed(string text) => CSharpSyntaxTree.ParseText(text, new CSharpParseOptions(LanguageVersion.Latest));
}
