using HilRunner.Core.Signals.Synthesis;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Signals.Synthesis;

internal sealed class FourierTransformTests
{
    [TestCase(1)]
    [TestCase(2)]
    [TestCase(8)]
    [TestCase(4096)]
    public void Agrees_with_the_reference_library_and_turns_back(int size)
    {
        var random = new Random(size);
        double[] x = [.. Enumerable.Range(0, 2 * size).Select(_ => random.NextDouble() - 0.5)];
        double[] re = x[..size], im = x[size..];
        var transform = new FourierTransform(size);
        transform.Forward(re, im);
        double[] expected = Scipy.Run("z = np.fft.fft(x[:len(x)//2] + 1j * x[len(x)//2:])\ny = np.concatenate([z.real, z.imag])", x);
        Assert.That(re.Concat(im).Zip(expected, (a, b) => Math.Abs(a - b)).Max(), Is.LessThan(1e-12 * size));
        transform.Backward(re, im);
        Assert.That(re.Concat(im).Zip(x, (a, b) => Math.Abs(a - b)).Max(), Is.LessThan(1e-14));
    }

    [Test]
    public void Refuses_a_size_that_is_no_power_of_two() => Assert.That(() => new FourierTransform(12), Throws.InstanceOf<ArgumentOutOfRangeException>());
}
